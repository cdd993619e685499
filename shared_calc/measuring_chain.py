"""The way of every reading, from raw count to indication. Read this first.

    raw count → conditioned count   conditioning.py   no spikes, little noise
              → fraction of d       curve.py          the calibration curve
              → at rest?            stability.py
              → indication          rounding.py       in whole divisions
              → flags               reading.py        faults that forbid an indication, and the status MOVING

Device, replay of a recording and tests run these same lines: integers throughout, all of them small. `take` and what
it calls are plain functions of the state (chain_state.py), the scale and a count; they allocate no heap, and a compiler
for arrays may take them as they are. `MeasuringChain` is their face on the device.
"""

from shared_calc.chain_state import CONDITIONED, DIVISIONS, FINE, FLAGS, STRAY, new_state
from shared_calc.conditioning import condition, forget_level
from shared_calc.curve import evaluate
from shared_calc.reading import (
    FAULTS,
    FAULTS_OF_A_COUNT,
    MOVING,
    NO_DATA,
    OVER_RANGE,
    SATURATED,
    UNCALIBRATED,
    UNDER_RANGE,
)
from shared_calc.rounding import format_divisions, round_to_division
from shared_calc.stability import forget_readings, is_at_rest

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
    x = counts - scale[CENTRE]
    if -scale[HALF] <= x <= scale[HALF]:
        _indicate(state, scale, evaluate(scale[COEFFICIENTS], x << scale[SHIFT]))
    elif scale[HALF] < 0:
        state[FLAGS] = UNCALIBRATED
    else:
        state[FLAGS] = OVER_RANGE if (x > 0) == (scale[RISES] > 0) else UNDER_RANGE


def _indicate(state, scale, fine):
    exponent = scale[BINARY_EXPONENT]
    divisions = round_to_division(fine, exponent)
    at_rest = is_at_rest(state, fine, 1 << exponent - 1)
    state[FINE] = fine
    state[DIVISIONS] = divisions
    if divisions > scale[MAX_DIVISIONS] + 9:
        state[FLAGS] = OVER_RANGE
    else:
        state[FLAGS] = 0 if at_rest and state[STRAY] == 0 else MOVING


class MeasuringChain:
    """Takes raw counts one at a time and holds the latest reading.

    `counts`: the raw count. `flags`: those of shared_calc.reading. `fine`: the indication before rounding, in units of
    d / 2**binary_exponent, and `divisions`: the indication; both mean something only where no flag is a fault.
    """

    def __init__(self):
        self._state = new_state()
        self.counts = self.fine = self.divisions = 0
        self.flags = NO_DATA
        self.use(None)

    def use(self, record):
        """Weigh by this CoefficientRecord from now on, the latest count too; None: uncalibrated."""
        self.record = record
        self._scale = scale_of(record)
        forget_readings(self._state)
        if not self.flags & FAULTS_OF_A_COUNT:
            weigh(self._state, self._scale, self._state[CONDITIONED])
            self._show()

    def take(self, counts):
        """Take one raw count through the chain."""
        self.counts = counts
        take(self._state, self._scale, counts)
        self._show()

    def miss(self, faults):
        """Take note that there is no count, and of the flags that say why."""
        miss(self._state, faults)
        self._show()

    def indication(self):
        """Return the indication in grams as decimal text, "" where a fault forbids one."""
        if self.flags & FAULTS:
            return ""
        return format_divisions(self.divisions, self.record.mantissa, self.record.power_of_ten)

    def _show(self):
        self.fine = self._state[FINE]
        self.divisions = self._state[DIVISIONS]
        self.flags = self._state[FLAGS]
