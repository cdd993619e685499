"""An indication in another unit, or as a number of pieces: one exact ratio, and a division of its own.

The division in a unit is the 1, 2 or 5 times a power of ten nearest to d there and not finer. Used at display rate, so
the integers may be large. Ratios of the units as their definitions have them; the host's units.py names the sources.
"""

UNITS = {  # a unit is numerator / denominator grams
    "g": (1, 1),
    "kg": (1000, 1),
    "ct": (1, 5),
    "lb": (45359237, 100000),
    "oz": (45359237, 1600000),
    "oz t": (45359237 * 480, 700000000),
    "gr": (45359237, 700000000),
}
PIECES = "pcs"


class DisplayUnit:
    """`symbol`, the division in it as mantissa * 10**power_of_ten, and how many of these d / 2**binary_exponent is."""

    def __init__(self, symbol, numerator, denominator, mantissa, power_of_ten):
        self.symbol = symbol
        self._numerator = numerator
        self._denominator = denominator
        self.mantissa = mantissa
        self.power_of_ten = power_of_ten

    def divisions(self, fine):
        """Return `fine`, in the unit of the curve, in whole divisions of this unit; halves go up."""
        return (2 * fine * self._numerator + self._denominator) // (2 * self._denominator)


def unit_of_mass(symbol, record):
    """Return the DisplayUnit for indications by a CoefficientRecord. symbol: of UNITS."""
    grams, parts = UNITS[symbol]
    return unit_of_ratio(symbol, grams, parts, record)


def unit_of_ratio(symbol, grams, parts, record):
    """Return the DisplayUnit for indications by a CoefficientRecord, of a unit of grams / parts grams."""
    numerator, denominator = _scaled(record.mantissa * parts, grams, record.power_of_ten)
    mantissa, power = _not_finer(numerator, denominator)
    numerator, denominator = _scaled(numerator, denominator * mantissa, -power)
    return DisplayUnit(symbol, numerator, denominator << record.curve.binary_exponent, mantissa, power)


def unit_of_pieces(sample, number):
    """Return the DisplayUnit that counts pieces, so many of which are `sample`, in the unit of the curve."""
    return DisplayUnit(PIECES, number, sample, 1, 0)


def _not_finer(numerator, denominator):
    """Return (mantissa, power of ten) of the smallest 1, 2 or 5 * 10**k that is not below a fraction."""
    power = 0
    while numerator * 10 <= denominator:
        numerator *= 10
        power -= 1
    while numerator > denominator:
        denominator *= 10
        power += 1
    for mantissa in (1, 2, 5):  # a tenth of the power above
        if 10 * numerator <= mantissa * denominator:
            return mantissa, power - 1
    return 1, power


def _scaled(numerator, denominator, power_of_ten):
    if power_of_ten >= 0:
        return numerator * 10 ** power_of_ten, denominator
    return numerator, denominator * 10 ** -power_of_ten
