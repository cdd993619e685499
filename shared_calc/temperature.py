"""Zero and span held against temperature: raw counts in, the counts of the reference temperature out, in integers.

With t = (temperature - reference) / 64 C the cell's zero has moved by zero(t) = z1*t + z2*t**2 counts, and span(t) =
s1*t + s2*t**2 is the part by which what remains is too large:

    net = counts - zero_counts - zero(t)        counts at the reference = zero_counts + net - net * span(t)

The zero goes first, so that the two are what a cell's data sheet calls temperature effect on zero and on span.

Every intermediate value stays within the small integers of a 32-bit MicroPython, and nothing is allocated. The result
is a whole count, within 1/2 + 1/PARTS_OF_A_COUNT of the exact one. Of the latter, coefficients and products take 4/256
(each of 2 coefficients and 2 products is off by half a unit, for zero and for span), halving net takes span / 2 < 1/32.
"""

from shared_calc.curve import multiply

PARTS_OF_A_COUNT = 16
PARTS_OF_A_DEGREE = 16  # temperatures are in 1/16 C, the resolution of a DS18B20
REACH = 1024  # the temperatures of a compensation lie no further from its reference: 64 C
ZERO_UNITS = 1 << 8  # z1 and z2 are in 1/256 count
SPAN_UNITS = 1 << 32  # s1 and s2 are in 2**-32
MOST_ZERO = 1 << 29  # |z1| + |z2| stays below: 2**21 counts
MOST_SPAN = 1 << 28  # |s1| + |s2| stays below: 1/16
MOST_ZERO_COUNTS = 1 << 22  # half of the ADC's range: net stays within 2**24


class CompensationError(Exception):
    """The temperature compensation cannot be evaluated faithfully."""


class Compensation:
    """Corrects counts for the temperature it follows; for that of the reference until it knows one.

    reference: 1/16 C. low_c, high_c: whole degrees, the range it was made for. zero_counts: the counts at no load, near
    enough. z1, z2, s1, s2: in ZERO_UNITS and SPAN_UNITS. Raises CompensationError, saying what is wrong.
    """

    def __init__(self, reference, low_c, high_c, zero_counts, z1, z2, s1, s2):
        low, high = low_c * PARTS_OF_A_DEGREE, high_c * PARTS_OF_A_DEGREE
        if not reference - REACH <= low <= reference <= high <= reference + REACH:
            raise CompensationError("the temperatures must lie around the reference, at most 64 C from it")
        if not -MOST_ZERO_COUNTS <= zero_counts <= MOST_ZERO_COUNTS:
            raise CompensationError("the counts at no load are too near an end of the ADC's range")
        if abs(z1) + abs(z2) >= MOST_ZERO or abs(s1) + abs(s2) >= MOST_SPAN:
            raise CompensationError("the temperature changes zero or span by too much to be compensated")
        self.fields = (reference, low_c, high_c, zero_counts, z1, z2, s1, s2)
        self._low = low
        self._high = high
        self._followed = reference
        self.zero = 0  # zero(t) and span(t) at the temperature followed
        self.span = 0

    def follow(self, temperature):
        """Go by this temperature from now on; None, where there is none: stay with the last.

        Returns whether that is the temperature of the cell: one outside the range is held at its edge.
        """
        if temperature is None:
            return False
        held = max(self._low, min(self._high, temperature))
        if held != self._followed:
            self._followed = held
            fields = self.fields
            x = (held - fields[0]) << 13
            self.zero = _polynomial(fields[4], fields[5], x)
            self.span = _polynomial(fields[6], fields[7], x)
        return held == temperature

    def correct(self, counts):
        """Return the counts that the cell would give at the reference temperature."""
        return correct(counts, self.fields[3], self.zero, self.span)


def correct(counts, zero_counts, zero, span):
    """Return whole counts; zero, span: in ZERO_UNITS and SPAN_UNITS. All but zero_counts may be arrays of int64."""
    half_net = (counts - zero_counts - (zero >> 8)) >> 1
    return counts - ((multiply(span, half_net) + zero + 128) >> 8)


def _polynomial(c1, c2, x):
    return multiply(multiply(c2, x) + c1, x)


def format_temperature(temperature):
    """Return a temperature in 1/16 C as decimal text, all of it: "-0.0625"; "" for None."""
    if temperature is None:
        return ""
    whole, part = divmod(abs(temperature), PARTS_OF_A_DEGREE)
    return "%s%d.%04d" % ("-" if temperature < 0 else "", whole, part * 625)
