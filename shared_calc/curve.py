"""The calibration curve as the device evaluates it: ADC counts in, fractions of a division out, integers throughout.

With t = x / 2**23 and x = (counts - centre) << shift, the curve is ((c3*t + c2)*t + c1)*t + c0 by Horner's rule, in
units of d / 2**binary_exponent. So zero and tare are sums, and rounding to the division d is one shift.

Every intermediate value stays within -2**30 .. 2**30 - 1, the small integers of a 32-bit MicroPython: an evaluation
allocates nothing and may run with the heap locked.
"""

SPAN = 1 << 23  # |x| never exceeds this
LIMIT = (1 << 30) - (1 << 16)  # the sum of |coefficients| stays below this
MAX_DEGREE = 3
PARTS_OF_A_COUNT = 16  # an evaluation must be right to 1/16 of an ADC count


class CurveError(Exception):
    """The curve cannot be evaluated faithfully."""


class Curve:
    """Coefficients, highest power first, and where on the ADC's range they apply."""

    def __init__(self, centre, shift, binary_exponent, coefficients):
        if not 1 < len(coefficients) <= MAX_DEGREE + 1:
            raise CurveError("a curve has degree 1 to %d" % MAX_DEGREE)
        self.centre = centre
        self.shift = shift
        self.binary_exponent = binary_exponent
        self.coefficients = coefficients
        self.half = SPAN >> shift  # the curve covers centre - half .. centre + half
        self.rises = coefficients[-2] > 0  # does a heavier load give more counts?

    def covers(self, counts):
        """Is `counts` within the range the curve was made for?"""
        return -self.half <= counts - self.centre <= self.half

    def evaluate(self, counts):
        """Return the indication in units of d / 2**binary_exponent. `counts` must be covered; numpy arrays will do."""
        return evaluate(self.coefficients, (counts - self.centre) << self.shift)

    def guaranteed_parts(self):
        """Return N such that every evaluation is within 1/N of an ADC count of the exact curve; 0 if not monotonic.

        Each of degree + 1 rounded coefficients and degree rounded products is off by at most half a unit, and
        |t| <= 1, so the sum is off by at most (2*degree + 1) / 2 units; the flattest part of the curve turns that
        into counts.
        """
        flattest = _flattest_slope(self.coefficients)
        return ((2 * flattest) << self.shift) // ((2 * len(self.coefficients) - 1) * SPAN)


def multiply(a, x):
    """Return (a * x + 2**22) >> 23 exactly, without leaving the small integers. |a| < LIMIT, |x| <= SPAN.

    Four partial products of 15- and 12-bit halves. x may also be a numpy array of 32 bits or more, so it is not changed
    in place.
    """
    b = a & 0x7FFF
    a >>= 15
    z = x & 0xFFF
    x = x >> 12
    return ((a * x) << 4) + (((((b * z) >> 12) + b * x >> 3) + a * z + 128) >> 8)


def evaluate(coefficients, x):
    """Horner's rule in fixed point; coefficients highest power first, |x| <= SPAN."""
    y = coefficients[0]
    for k in range(1, len(coefficients)):
        y = multiply(y, x) + coefficients[k]
    return y


def span_of(low, high):
    """Return (centre, shift) that place the counts low..high as wide as they fit into -SPAN .. SPAN."""
    centre = (low + high) >> 1
    half = max(high - centre, centre - low, 1)
    shift = 0
    while half << (shift + 1) <= SPAN:
        shift += 1
    return centre, shift


def quantise(numerators, denominator, centre, shift):
    """Return the Curve nearest to the exact polynomial sum(numerators[k] / denominator * (counts - centre)**k).

    The polynomial gives divisions, lowest power first. The binary exponent is the largest that fits, so the rounding
    of a coefficient is as fine as the arithmetic allows. Raises CurveError where no exponent serves or the result
    is not good to 1/PARTS_OF_A_COUNT.
    """
    bits = 23 - shift  # a power of (counts - centre) is worth this many bits of t
    total = 0
    for k in range(len(numerators)):
        total += abs(numerators[k]) << (bits * k)
    room = denominator * (LIMIT - len(numerators))
    exponent = 0
    while exponent < 29 and total << (exponent + 1) < room:
        exponent += 1
    if exponent == 0:
        raise CurveError("the division is too fine for this range: choose a larger d or a smaller Max")
    coefficients = []
    for k in range(len(numerators) - 1, -1, -1):
        scaled = numerators[k] << (bits * k + exponent)
        coefficients.append((2 * scaled + denominator) // (2 * denominator))
    curve = Curve(centre, shift, exponent, tuple(coefficients))
    check(curve)
    return curve


def check(curve):
    """Raise CurveError, saying what is wrong, unless the curve may be used to weigh."""
    if not 0 <= curve.shift <= 23 or not 1 <= curve.binary_exponent <= 29 or not -SPAN <= curve.centre <= SPAN:
        raise CurveError("centre, shift or exponent out of range")
    if sum([abs(c) for c in curve.coefficients]) >= LIMIT:
        raise CurveError("coefficients too large")
    parts = curve.guaranteed_parts()
    if parts < PARTS_OF_A_COUNT:
        raise CurveError(
            "evaluation is sure only to 1/%d count, 1/%d is needed: the curve is too flat or turns back"
            % (parts, PARTS_OF_A_COUNT)
            if parts
            else "the curve is flat or turns back within its range"
        )


def _flattest_slope(coefficients):
    """Return a lower bound of |dy/dt| over -1 <= t <= 1, or 0 where its sign changes."""
    c3, c2, c1 = ((0, 0, 0) + coefficients[:-1])[-3:]
    if c1 < 0:
        c1, c2, c3 = -c1, -c2, -c3
    slope = min(c1 - 2 * c2 + 3 * c3, c1 + 2 * c2 + 3 * c3)
    if c3 > 0 and abs(c2) < 3 * c3:  # the derivative has its minimum inside
        slope = min(slope, c1 - (c2 * c2 + 3 * c3 - 1) // (3 * c3))
    return max(slope, 0)
