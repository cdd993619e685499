"""Quiet and quick: what the filter makes of levels, steps, spikes, ramps and noise, in small integers."""

from itertools import islice
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.chain_state import LONGEST_MEAN, NOISE, NUMBER, SIZE, new_state
from shared_calc.conditioning import condition, forget_level
from tests.shared_calc.signals import good_counts, histories, noise
from tests.shared_calc.small_int import SmallInt

SIGMA = 40  # counts; of the order of an HX711 at 80 readings a second on 5 V, by its data sheet
REDUCTION = sqrt(2 * LONGEST_MEAN - 1)  # of an exponential mean of weight 1 / N in white noise: textbook
REDUCED = SIGMA / REDUCTION
lengths = st.integers(1, 32).map(lambda half: 2 * half)


def conditioned(counts, state=None):
    """Return what the filter gives for each count."""
    state = state or new_state()
    return [condition(state, one) for one in counts]


def noisy(levels, seed=1, sigma=SIGMA):
    return [round(level) + n for level, n in zip(levels, noise(seed, sigma), strict=False)]


# Whatever comes


@given(histories(), lengths)
def test_every_step_of_it_stays_within_small_integers(counts, longest) -> None:
    state = [SmallInt(value) for value in new_state(longest)]
    small = [condition(state, SmallInt(one)) for one in counts]
    assert small == conditioned(counts, new_state(longest))
    assert len(state) == SIZE


@given(histories(), lengths)
def test_it_gives_nothing_that_lies_outside_what_came(counts, longest) -> None:
    for k, one in enumerate(conditioned(counts, new_state(longest))):
        assert min(counts[: k + 1]) <= one <= max(counts[: k + 1])


@given(histories(), st.integers(-(1 << 22), 1 << 22))
def test_it_has_no_favourite_level(counts, shift) -> None:
    counts = [one // 4 for one in counts]
    assert conditioned([one + shift for one in counts]) == [one + shift for one in conditioned(counts)]


@given(good_counts)
def test_a_level_is_given_as_it_is(level) -> None:
    assert conditioned([level] * 100) == [level] * 100


def test_after_a_break_the_level_begins_anew_and_the_noise_stays_learnt() -> None:
    state = new_state()
    conditioned(noisy([0] * 1000, sigma=300), state)
    learnt = state[NOISE]
    forget_level(state)
    assert condition(state, 5_000_000) == 5_000_000
    assert state[NUMBER] == 1 and state[NOISE] == learnt


# Spikes


@given(st.integers(10 * SIGMA, 1 << 22), st.sampled_from([1, -1]), st.integers(64, 300), st.integers(0, 9))
def test_a_single_spike_does_not_move_the_indication(size, side, at, seed) -> None:
    counts = noisy([100_000] * 320, seed)
    state = new_state()
    before = conditioned(counts[:at], state)[-1]
    assert condition(state, before + side * size) == before


def test_a_spike_in_a_hundred_leaves_the_noise_as_low_as_it_was() -> None:
    counts = noisy([0] * 20_000)
    clean = conditioned(counts)
    spiked = conditioned([one + 1_000_000 * (k % 100 == 99) for k, one in enumerate(counts)])
    assert rms(spiked[200:]) == pytest.approx(rms(clean[200:]), rel=0.02)


def rms(values) -> float:
    return sqrt(sum(one * one for one in values) / len(values))


# Noise


def test_white_noise_is_reduced_as_theory_has_it() -> None:
    shown = conditioned(noisy([0] * 200_000))[500:]
    assert SIGMA / rms(shown) == pytest.approx(REDUCTION, rel=0.02)


@pytest.mark.parametrize("sigma", [20, 100, 1000, 10_000])
def test_noise_of_any_size_is_learnt(sigma) -> None:
    state = new_state()
    shown = conditioned(noisy([0] * 5000, sigma=sigma), state)
    assert state[NOISE] / 256 == pytest.approx(0.977 * sigma, rel=0.3)  # sqrt(6 * 2 / pi) / 2: half of mean |d2|
    assert sigma / rms(shown[500:]) == pytest.approx(REDUCTION, rel=0.15)


@pytest.mark.parametrize("sigma", [5, SIGMA])
def test_noise_alone_hardly_ever_passes_for_a_step(sigma) -> None:
    """Once in some 700 000 readings."""
    state = new_state()
    lost = 0
    for one in islice(noise(2, sigma), 200_000):
        number = state[NUMBER]
        condition(state, one)
        lost += state[NUMBER] < number
    assert lost <= 3  # 0.3 expected: more than 3 once in 4000


# Steps


@given(st.integers(100, 1 << 22), st.sampled_from([1, -1]), st.integers(1, 100))
def test_a_step_without_noise_is_followed_at_its_second_reading(size, side, at) -> None:
    shown = conditioned([0] * at + [side * size] * 60)[at:]
    assert shown == [0] + [side * size] * 59


@given(st.integers(2, 100), st.sampled_from([1, -1]))
def test_the_smallest_step_without_noise_is_followed_in_the_end(size, side) -> None:
    assert conditioned([0] * 100 + [side * size] * 120)[-1] == side * size


@pytest.mark.parametrize("step_sigmas", [2, 3, 5, 20, 1000, -2, -7])
def test_a_step_is_settled_as_soon_as_if_its_moment_were_known(step_sigmas) -> None:
    """Within three standard deviations of what noise is left, in 95 % of 400 steps.

    A mean that begins with the step has the standard deviation sigma / sqrt(n): it needs n = (1.96 / 3)**2 * 63 = 27.
    """
    number, size = 34, step_sigmas * SIGMA
    settled = 0
    for seed in range(400):
        shown = conditioned(noisy([0] * 200 + [size] * number, seed))
        settled += abs(shown[-1] - size) <= 3 * REDUCED
    assert settled >= 0.95 * 400 - 3 * sqrt(400 * 0.95 * 0.05)


@pytest.mark.parametrize("step_sigmas", [0.5, 0.7, 1, 1.4])
def test_a_step_too_small_to_be_noticed_soon_is_settled_all_the_same(step_sigmas) -> None:
    """Within 63 readings, those of the shortest filter of fixed weights that reduces noise as much."""
    size = step_sigmas * SIGMA
    settled = 0
    for seed in range(400):
        shown = conditioned(noisy([0] * 200 + [size] * 63, seed))
        settled += abs(shown[-1] - size) <= 3 * REDUCED
    assert settled >= 0.95 * 400 - 3 * sqrt(400 * 0.95 * 0.05)


def test_the_settling_of_a_converters_own_filter_costs_no_more_than_its_readings() -> None:
    """A sinc filter of fourth order: 1, 11, 11, 1 of 24 parts, as sigma-delta converters have."""
    settled = 0
    for seed in range(300):
        size = 1000 * SIGMA
        levels = [0] * 200 + [size * part / 24 for part in (1, 12, 23)] + [size] * 31
        settled += abs(conditioned(noisy(levels, seed))[-1] - size) <= 3 * REDUCED
    assert settled >= 0.95 * 300 - 3 * sqrt(300 * 0.95 * 0.05)


# Drifts and ramps


@pytest.mark.parametrize("sigmas_per_reading", [0.01, 0.03, 0.1, 0.3, 1, 3, 30, 1000])
def test_a_ramp_is_followed_closely_however_steep(sigmas_per_reading) -> None:
    """Never further behind than three times the noise of a reading or two readings; 31 readings for a slow drift."""
    slope = sigmas_per_reading * SIGMA
    levels = [0] * 200 + [slope * k for k in range(1, 401)]
    shown = conditioned(noisy(levels))
    behind = [level - one for level, one in zip(levels, shown, strict=True)][300:]
    assert 0 <= sum(behind) / len(behind) <= min((LONGEST_MEAN - 1) * slope * 1.2, max(3 * SIGMA, 2 * slope))


def test_the_end_of_a_ramp_is_settled_as_soon_as_a_step() -> None:
    """Pouring that stops: it has not been taken for noise. The same criterion as for steps."""
    settled = 0
    for seed in range(300):
        levels = [0] * 200 + [10 * SIGMA * k for k in range(1, 301)] + [3000 * SIGMA] * 34
        settled += abs(conditioned(noisy(levels, seed))[-1] - 3000 * SIGMA) <= 3 * REDUCED
    assert settled >= 0.95 * 300 - 3 * sqrt(300 * 0.95 * 0.05)
