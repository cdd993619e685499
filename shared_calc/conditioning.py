"""A filter that is both quiet and quick: the mean of the readings since the last step, up to so many.

Four parts, in integers that stay small:

1. The noise is learnt from second differences, which neither a level nor a steady rise changes, and of which a spike
   or a step is but three. Half their mean size is 0.98 standard deviations of white noise.
2. A reading five times the noise away from the mean is a stray, and one alone, a spike, counts for nothing. If the
   next is on that side too, half as far or more, the load has changed: the mean begins anew with that reading.
3. Smaller steps are noticed by a cumulative sum of the deviations that is drawn to 0 (R. B. Crosier, "A new two-sided
   cumulative sum quality control scheme", Technometrics 28 (1986) 187-194), as soon as the evidence suffices. The mean
   then begins anew with the readings since the evidence began, so none of them is wasted.
4. The mean keeps its remainder, so nothing is lost to rounding. Once it is as long as it may be, each further reading
   replaces its share of it.

A mean of at most N takes the standard deviation of white noise down by sqrt(2 N - 1): 7.9 for N = 32; less where that
leaves no more than the rounding to whole counts. A step of two standard deviations or more is followed as if its moment
were known. Noise alone passes for a step once in some 700 000 readings (counted in 50 million, for noise of 40 counts),
and the mean is the shorter for it for a while. `scalewright filters` measures all the rest.
"""

from shared_calc.chain_state import (
    BASE,
    BEFORE,
    DRIFT,
    EVIDENCE,
    LEARNT,
    LONGEST,
    MEAN,
    NOISE,
    NUMBER,
    PREVIOUS,
    REMAINDER,
    SINCE,
    STRAY,
)

_MOST_NOISE = 1 << 22  # in 1/16 count; keeps the products small
_QUICK = 16  # readings from which the noise is learnt quickly at first


def forget_level(state):
    """Let the mean begin anew with the next reading; the noise stays learnt."""
    state[NUMBER] = 0


def condition(state, counts):
    """Take a raw count and return the conditioned one."""
    if state[NUMBER] == 0:
        state[PREVIOUS] = state[BEFORE] = counts
        _begin_with(state, counts, 0, 1)
        return counts
    noise = _noise(state, counts)
    deviation = (counts - state[MEAN] << 4) - (state[REMAINDER] << 4) // state[NUMBER]
    strays = _strays(state, deviation, noise)
    if strays == 2:
        _begin_with(state, counts, 0, 1)
    elif strays == 0:
        if _is_evident(state, counts, deviation, noise):
            _begin_with(state, state[BASE], state[DRIFT], state[SINCE])
        else:
            _take_into_mean(state, counts - state[MEAN])
    return state[MEAN] + (1 if state[REMAINDER] << 1 >= state[NUMBER] else 0)


def _noise(state, counts):
    """Return the noise in 1/16 count, at least a whole count, as it was before this reading; learn from this one.

    A difference counts for no more than four times what is usual.
    """
    noise = state[NOISE] >> 4
    if noise < 16:
        noise = 16
    difference = counts - (state[PREVIOUS] << 1) + state[BEFORE] << 3
    difference = min(-difference if difference < 0 else difference, 4 * noise, _MOST_NOISE)
    if state[LEARNT] < _QUICK:
        state[LEARNT] += 1
        state[NOISE] += (difference << 4) - state[NOISE] >> 3
    else:
        state[NOISE] += (difference << 4) - state[NOISE] + 32 >> 6
    state[BEFORE] = state[PREVIOUS]
    state[PREVIOUS] = counts
    return noise


def _strays(state, deviation, noise):
    """Return how many readings in a row are strays on one side of the mean: 0, 1, or 2 for two or more."""
    side = 1 if deviation > 0 else -1
    is_second = state[STRAY] == side
    if side * deviation << 1 <= (5 if is_second else 10) * noise:
        state[STRAY] = 0
        return 0
    state[STRAY] = side
    return 2 if is_second else 1


def _is_evident(state, counts, deviation, noise):
    """Add a reading to the evidence of a step; True where it suffices.

    Steps of one noise are found soonest by an allowance of half of it, which draws the sum to 0. The evidence begins
    where the sum left 0 or changed sides, or later, with a reading that says as much as all before it.
    """
    before = state[EVIDENCE]
    total = before + deviation
    side = 1 if total > 0 else -1
    size = side * total - (noise >> 1)
    if size < 0:
        size = 0
    if size >= side * before << 1:
        state[BASE] = state[MEAN]
        state[SINCE] = state[DRIFT] = 0
    elif state[SINCE] == state[LONGEST]:
        state[SINCE] >>= 1
        state[DRIFT] >>= 1
    state[EVIDENCE] = side * size
    state[SINCE] += 1
    state[DRIFT] += counts - state[BASE]
    return size > 12 * noise


def _begin_with(state, base, deviation, number):
    """Let the mean be that of so many readings, base + deviation / number."""
    whole = deviation // number
    state[MEAN] = base + whole
    state[REMAINDER] = deviation - whole * number
    state[NUMBER] = number
    state[STRAY] = 0
    state[EVIDENCE] = 0


def _take_into_mean(state, deviation):
    number = state[NUMBER]
    total = state[REMAINDER] + deviation
    if number < state[LONGEST]:
        number += 1
        state[NUMBER] = number
    elif state[REMAINDER] << 1 >= number:
        total -= 1  # the share of the mean that goes, rounded
    whole = total // number
    state[MEAN] += whole
    state[REMAINDER] = total - whole * number
