"""The way of every reading, from raw count to indication. Read this first.

    raw count → conditioned count   conditioning.py   no spikes, little noise
              → at the reference    temperature.py    what the temperature of the cell does is taken out
              → fraction of d       curve.py          the calibration curve
              → at rest?            stability.py
              → less zero and tare  zero_tare.py      none until a command sets them
              → indication          rounding.py       in whole divisions
              → flags               reading.py        faults that forbid an indication, and its status

Device, replay of a recording and tests run these same lines: integers throughout, all of them small. `take` and what
it calls are plain functions of the state (chain_state.py), the scale and a count; they allocate no heap, and a compiler
for arrays may take them as they are. `MeasuringChain` is their face on the device.

Zero and tare are commands and no part of a recording; calibration and its checks use the raw counts, which know neither
of them. New coefficients clear both.
"""

from shared_calc.chain_state import (
    CONDITIONED,
    DIVISIONS,
    FINE,
    FLAGS,
    HELD,
    MOVED_SPAN,
    MOVED_ZERO,
    NUMBER,
    STRAY,
    TARE,
    UNLOADED,
    ZERO,
    new_state,
)
from shared_calc.conditioning import condition, forget_level
from shared_calc.curve import evaluate
from shared_calc.reading import (
    AT_ZERO,
    COMPENSATION_HELD,
    FAULTS,
    FAULTS_OF_A_COUNT,
    MOVING,
    NET,
    NO_DATA,
    OVER_RANGE,
    SATURATED,
    UNCALIBRATED,
    UNDER_RANGE,
)
from shared_calc.rounding import FURTHEST, difference, format_divisions, round_to_division
from shared_calc.stability import ENOUGH, forget_readings, is_at_rest
from shared_calc.temperature import correct
from shared_calc.zero_tare import DONE, clear, track_zero

COUNTS_MAX = 0x7FFFFF
COUNTS_MIN = -0x800000

# The scale is what a coefficient record says, as a tuple of ints and, last, the coefficients of the curve.
CENTRE, SHIFT, HALF, RISES, BINARY_EXPONENT, MAX_DIVISIONS, COEFFICIENTS = 0, 1, 2, 3, 4, 5, 6
_NO_SCALE = (0, 0, -1, 0, 1, 0, (0, 0))  # its curve covers nothing


def scale_of(record):
    """Return the scale that a CoefficientRecord makes; None: uncalibrated."""
    if record is None:
        return _NO_SCALE
    curve = record.curve
    place = (curve.centre, curve.shift, curve.half, int(curve.rises))
    return place + (curve.binary_exponent, record.max_divisions, curve.coefficients)


def feel(state, compensation, temperature):
    """Correct counts from now on for a temperature in 1/16 C, None: not known; with compensation None not at all."""
    if compensation is None:
        state[UNLOADED] = state[MOVED_ZERO] = state[MOVED_SPAN] = state[HELD] = 0
        return
    state[HELD] = 0 if compensation.follow(temperature) else COMPENSATION_HELD
    state[UNLOADED] = compensation.fields[3]
    state[MOVED_ZERO] = compensation.zero
    state[MOVED_SPAN] = compensation.span


def take(state, scale, counts):
    """Take one raw count; the state then holds its reading."""
    if COUNTS_MIN < counts < COUNTS_MAX:
        weigh(state, scale, condition(state, counts))
    else:
        miss(state, SATURATED if scale[HALF] >= 0 else SATURATED | UNCALIBRATED)


def miss(state, faults):
    """Make a reading of a count that cannot be used or never came; with the next one everything begins anew."""
    forget_level(state)
    forget_readings(state)
    state[FLAGS] = faults


def weigh(state, scale, counts):
    """Make the reading of a conditioned count."""
    state[CONDITIONED] = counts
    if state[MOVED_ZERO] or state[MOVED_SPAN]:
        counts = correct(counts, state[UNLOADED], state[MOVED_ZERO], state[MOVED_SPAN])
    x = counts - scale[CENTRE]
    if -scale[HALF] <= x <= scale[HALF]:
        _indicate(state, scale, evaluate(scale[COEFFICIENTS], x << scale[SHIFT]))
    elif scale[HALF] < 0:
        state[FLAGS] = UNCALIBRATED
    else:
        state[FLAGS] = OVER_RANGE if (x > 0) == (scale[RISES] > 0) else UNDER_RANGE


def _indicate(state, scale, fine):
    exponent = scale[BINARY_EXPONENT]
    at_rest = is_at_rest(state, fine, 1 << exponent - 1)
    state[FINE] = fine
    if state[ZERO]:
        fine = difference(fine, state[ZERO])
    divisions = round_to_division(fine, exponent)
    if divisions > scale[MAX_DIVISIONS] + 9 or fine == FURTHEST:
        state[FLAGS] = OVER_RANGE
    elif not at_rest or state[STRAY] != 0:
        state[FLAGS] = MOVING
    else:
        quarter = 1 << exponent >> 2
        state[FLAGS] = AT_ZERO if -quarter <= fine <= quarter else 0
    state[DIVISIONS] = divisions
    if state[TARE]:
        _take_off_tare(state, fine, exponent)
    if state[HELD] and state[FLAGS] & FAULTS == 0:
        state[FLAGS] |= state[HELD]


def _take_off_tare(state, gross, exponent):
    net = difference(gross, state[TARE])
    state[DIVISIONS] = round_to_division(net, exponent)
    if net == -FURTHEST:
        state[FLAGS] = UNDER_RANGE
    elif state[FLAGS] & FAULTS == 0:
        state[FLAGS] |= NET


class MeasuringChain:
    """Takes raw counts one at a time and holds the latest reading.

    `counts`: the raw count. `flags`: those of shared_calc.reading. `fine`: the value of the curve, in units of
    d / 2**binary_exponent, and `divisions`: the indication; both mean something only where no flag is a fault.
    """

    def __init__(self):
        self._state = new_state()
        self.counts = self.fine = self.divisions = 0
        self.temperature = None
        self._state[FLAGS] = self.flags = NO_DATA
        self.use(None)

    def use(self, record):
        """Weigh by this CoefficientRecord from now on, the latest count too; None: uncalibrated."""
        self.record = record
        self._scale = scale_of(record)
        self.feel(self.temperature)
        forget_readings(self._state)
        clear(self._state)
        self._weigh_again()

    def feel(self, temperature):
        """Let this be the temperature of the cell in 1/16 C from the next count on; None: it is not known."""
        self.temperature = temperature
        feel(self._state, self.record.compensation if self.record else None, temperature)

    def take(self, counts):
        """Take one raw count through the chain."""
        self.counts = counts
        take(self._state, self._scale, counts)
        self._show()

    def miss(self, faults):
        """Take note that there is no count, and of the flags that say why."""
        miss(self._state, faults)
        self._show()

    def set(self, function):
        """Let a function of zero_tare set zero or tare; the latest reading follows. Returns the number of the reason
        why it was refused, 0 where it was not.
        """
        refused = function(self._state, self._scale[MAX_DIVISIONS] << self._scale[BINARY_EXPONENT])
        if refused == DONE:
            self._weigh_again()
        return refused

    def track_zero(self, elapsed_ms):
        """Let the zero follow the latest reading as zero-tracking may; the next one shows it."""
        division = 1 << self._scale[BINARY_EXPONENT]
        track_zero(self._state, division, self._scale[MAX_DIVISIONS] * division, elapsed_ms)

    def clear_tare(self):
        self._state[TARE] = 0
        self._weigh_again()

    def clear_zero(self):
        """Go back to the zero of the calibration, and to gross values."""
        clear(self._state)
        self._weigh_again()

    def settled_counts(self):
        """Return the conditioned count at the reference temperature.

        None where there has been a step or no count in the last ENOUGH readings.
        """
        state = self._state
        if state[NUMBER] < ENOUGH or state[STRAY] != 0 or self.flags & FAULTS_OF_A_COUNT:
            return None
        return correct(state[CONDITIONED], state[UNLOADED], state[MOVED_ZERO], state[MOVED_SPAN])

    def zero(self):
        """Return how far the zero in use lies from that of the calibration, in the unit of `fine`."""
        return self._state[ZERO]

    def tare(self):
        """Return the tare in the unit of `fine`; 0: none."""
        return self._state[TARE]

    def shown(self):
        """Return the indication before rounding, in the unit of `fine`."""
        return difference(difference(self._state[FINE], self._state[ZERO]), self._state[TARE])

    def indication(self):
        """Return the indication in grams as decimal text, "" where a fault forbids one."""
        if self.flags & FAULTS:
            return ""
        return format_divisions(self.divisions, self.record.mantissa, self.record.power_of_ten)

    def _weigh_again(self):
        if not self.flags & FAULTS_OF_A_COUNT:
            weigh(self._state, self._scale, self._state[CONDITIONED])
            self._show()

    def _show(self):
        self.fine = self._state[FINE]
        self.divisions = self._state[DIVISIONS]
        self.flags = self._state[FLAGS]
