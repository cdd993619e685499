"""What the raw counts say about wiring and cell: causes by name, from the last readings and a short history.

Per reading this takes note of a few integers and allocates nothing; the thinking is done when somebody asks. What each
cause looks like:

STUCK_DATA_LINE   one conversion after the other breaks the timing limits: the data line is stuck at "ready".
OPEN_EXCITATION   next to nothing is measured where the coefficients (or, without any, a zero balance) say otherwise.
                  An offset of the ADC itself can hide it: a HX711 may have 0.2 mV (its datasheet, from memory).
SWAPPED_SIGNAL    the reading is below zero by a twentieth of Max or more; so it is with the platform taken off.
FLOATING_INPUT    most readings jump by far more than the ADC's own noise.
MAINS_PICKUP      the readings alternate at the beat of 50 or 60 Hz with the rate of conversion.
DRIFTING          over 16 times 10 s the reading has gone one way, without a step.
OVERLOADED        since the start, two readings in a row were more than a fifth above Max.

The mains test: in a pure tone of angle w a sample, x(n-1) + x(n+1) = 2 cos(w) x(n). Least squares over the differences
of the readings gives 2 cos(w) and what is left over: of white noise all of the sum of squares, of a tone nothing. Where
the beat is slower than a fourteenth of the rate it looks like a swinging load, and the test says nothing: so it is at
10 conversions a second, whose filter suppresses the mains by itself.
"""

from array import array

from shared_calc.reading import BAD_FRAME

CAUSES = (
    "STUCK_DATA_LINE", "OPEN_EXCITATION", "SWAPPED_SIGNAL", "FLOATING_INPUT", "MAINS_PICKUP", "DRIFTING", "OVERLOADED",
)  # fmt: skip
STUCK_DATA_LINE, OPEN_EXCITATION, SWAPPED_SIGNAL, FLOATING_INPUT, MAINS_PICKUP, DRIFTING, OVERLOADED = (
    1, 2, 4, 8, 16, 32, 64,
)  # fmt: skip

READINGS = 64  # looked back upon
_NOTHING = 1024  # counts
_NOISE = 1024  # counts: some twenty times the noise of a HX711, 90 nV (its datasheet, page 3, from memory)
_MAINS_HZ = (50, 60)
_TREND = 16
_TREND_MS = 10000
_TREND_COUNTS = 2048  # a part in 4000 of the range of the ADC
_STEP_COUNTS = 16384
_COSINES = (256, 251, 237, 213, 181, 142, 98, 50, 0)  # 256 cos(k pi / 16)
_COUNTS_MAX = 0x7FFFFF


class Diagnosis:
    """Takes raw counts; `smallest` and `largest` since the start, None before the first."""

    def __init__(self):
        self._counts = array("i", [0] * READINGS)
        self._trend = array("i", [0] * _TREND)
        self._number = 0  # of readings without a gap
        self._trend_number = 0
        self._trend_ms = 0
        self._lap_ms = 0  # when the ring began
        self._lap_took_ms = 0
        self._bad_frames = 0
        self._beyond = 0  # readings in a row beyond the overload
        self._is_overloaded = False
        self.smallest = self.largest = None
        self.use(None)

    def use(self, record):
        """Compare with this CoefficientRecord from now on; None: uncalibrated."""
        self._zero = self._span = None
        if record is not None:
            full = record.max_divisions << record.curve.binary_exponent
            self._zero = counts_showing(record.curve, 0)
            self._span = counts_showing(record.curve, full) - self._zero

    def miss(self, flags):
        """Take note that there is no count to use, and of the flags that say why."""
        self._number = self._trend_number = 0
        self._bad_frames = self._bad_frames + 1 if flags & BAD_FRAME else 0

    def take(self, counts, time_ms):
        """Take a raw count. Returns True where this is the first overload since the start."""
        self._bad_frames = 0
        place = self._number % READINGS
        if place == 0:
            self._lap_took_ms = time_ms - self._lap_ms if self._number else 0  # not yet known
            self._lap_ms = time_ms
        self._counts[place] = counts
        self._number += 1
        if self.smallest is None:
            self.smallest = self.largest = counts
        elif counts < self.smallest:
            self.smallest = counts
        elif counts > self.largest:
            self.largest = counts
        if self._number >= READINGS and (self._trend_number == 0 or time_ms - self._trend_ms >= _TREND_MS):
            self._trend[self._trend_number % _TREND] = self._mean()
            self._trend_number += 1
            self._trend_ms = time_ms
        return self._begins_overload(counts)

    def causes(self):
        """Return the causes that show now, as a sum of the numbers above."""
        found = OVERLOADED if self._is_overloaded else 0
        if self._bad_frames > 1:
            found |= STUCK_DATA_LINE
        if self._number >= READINGS:
            found |= self._level()
            if self._is_mains():
                found |= MAINS_PICKUP
            elif self._is_floating():
                found |= FLOATING_INPUT
        if self._is_drifting():
            found |= DRIFTING
        return found

    def noise(self):
        """Return the noise of the last readings in counts, half the mean size of second differences; None: unknown."""
        if self._number < READINGS:
            return None
        return sum([abs(one) for one in self._second_differences()]) // (2 * (READINGS - 2))

    def _begins_overload(self, counts):
        span = self._span
        if span is None or not -_COUNTS_MAX - 1 < counts < _COUNTS_MAX:  # at an end of the range it may be the wiring
            self._beyond = 0
            return False
        beyond = counts - self._zero - span
        self._beyond = self._beyond + 1 if (5 * beyond > span if span > 0 else 5 * beyond < span) else 0
        if self._beyond < 2 or self._is_overloaded:
            return False
        self._is_overloaded = True
        return True

    def _mean(self):
        """Return the mean of the ring; the sum stays a small integer."""
        first = self._counts[0]
        total = 0
        for counts in self._counts:
            total += counts - first >> 2
        return first + (total >> 4)

    def _level(self):
        mean = self._mean()
        if -_NOTHING < mean < _NOTHING and self._expects_something():
            return OPEN_EXCITATION
        if self._span is not None:
            below = self._zero - mean if self._span > 0 else mean - self._zero
            if 20 * below > abs(self._span) and -_COUNTS_MAX < mean < _COUNTS_MAX - 1:
                return SWAPPED_SIGNAL
        return 0

    def _expects_something(self):
        if self._zero is None:
            return self.smallest > -_NOTHING and self.largest < _NOTHING
        return abs(self._zero) > 2 * _NOTHING

    def _in_order(self):
        """Return the readings of the ring, oldest first."""
        place = self._number % READINGS
        return list(self._counts[place:]) + list(self._counts[:place])

    def _second_differences(self):
        x = self._in_order()
        return [x[k - 1] - 2 * x[k] + x[k + 1] for k in range(1, READINGS - 1)]

    def _is_floating(self):
        jumps = [one for one in self._second_differences() if abs(one) > 2 * _NOISE]
        return 2 * len(jumps) > READINGS

    def _is_mains(self):
        x = self._in_order()
        tone = tone_of([x[k + 1] - x[k] for k in range(READINGS - 1)])
        if tone is None or not self._lap_took_ms:
            return False
        for mains_hz in _MAINS_HZ:
            expected = double_cosine(mains_hz * self._lap_took_ms * 1024 // (READINGS * 1000))
            if abs(expected - tone) < 96 and expected < 460:
                return True
        return False

    def _is_drifting(self):
        """Each of the last means is beyond the one before, on one side, by no more than a load would do."""
        if self._trend_number < _TREND:
            return False
        means = self._trend
        steps = [means[(self._trend_number + k + 1) % _TREND] - means[(self._trend_number + k) % _TREND]
                 for k in range(_TREND - 1)]  # fmt: skip
        if sum(steps) < 0:
            steps = [-step for step in steps]
        return min(steps) > 0 and max(steps) < _STEP_COUNTS and sum(steps) > _TREND_COUNTS


def counts_showing(curve, fine):
    """Return the counts where the curve shows `fine`, or the end of its range nearest to them."""
    low, high = curve.centre - curve.half, curve.centre + curve.half
    while high - low > 1:
        middle = (low + high) // 2
        if (curve.evaluate(middle) < fine) == curve.rises:
            low = middle
        else:
            high = middle
    return high


def tone_of(x):
    """Return 512 cos(w) where these numbers are a tone of angle w a sample, well above the ADC's noise; else None."""
    scale = max([abs(one) for one in x]) // 1024 + 1
    x = [one // scale for one in x]
    of_middle = of_sum = of_both = 0
    for k in range(1, len(x) - 1):
        outer = x[k - 1] + x[k + 1]
        of_middle += x[k] * x[k]
        of_sum += outer * outer
        of_both += outer * x[k]
    quiet = _NOISE // 4
    if of_middle * scale * scale < len(x) * quiet * quiet:
        return None
    if 4 * (of_sum * of_middle - of_both * of_both) > of_middle * of_middle:
        return None
    return 256 * of_both // of_middle


def double_cosine(angle):
    """Return 512 cos(angle) within 2 %; 1024 is a whole turn."""
    angle %= 1024
    if angle > 512:
        angle = 1024 - angle
    sign = 1
    if angle > 256:
        angle, sign = 512 - angle, -1
    k, rest = divmod(angle, 32)
    if k == 8:
        return 0
    return sign * 2 * (_COSINES[k] * 32 + (_COSINES[k + 1] - _COSINES[k]) * rest) // 32
