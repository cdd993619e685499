"""A two-point adjustment: the straight line through no load and one known load, made into a coefficient record."""

from shared_calc.calibration import coverage, curve_through
from shared_calc.coefficient_record import CoefficientRecord, encode

NANOGRAMS = 1000000000  # in a gram: every division that a record may have is a whole number of nanograms
LEAST_PART_OF_MAX = 5  # a load below a fifth of Max says too little about Max: common practice


class TwoPointError(Exception):
    """The two points cannot make a scale; the text says why."""


def two_point_record(empty, loaded, load_ng, max_ng, mantissa, power_of_ten, compensation=None):
    """Return the encoded record of the scale: division mantissa * 10**power_of_ten grams.

    empty, loaded: counts, corrected for temperature where there is a compensation. Raises TwoPointError, FitError,
    CurveError or CoefficientError.
    """
    division_ng = mantissa * NANOGRAMS * 10 ** power_of_ten if power_of_ten > 0 else mantissa * 10 ** (9 + power_of_ten)
    if not 0 < load_ng <= max_ng <= LEAST_PART_OF_MAX * load_ng:
        raise TwoPointError("the load must lie between a fifth of Max and Max")
    if max_ng % division_ng or division_ng > load_ng:
        raise TwoPointError("Max must be a whole number of divisions")
    if empty == loaded:
        raise TwoPointError("the load makes no difference to the counts: check the wiring")
    at_max = empty + (loaded - empty) * max_ng // load_ng
    if not -0x800000 < at_max < 0x7FFFFF:
        raise TwoPointError("the ADC would be at the end of its range before Max")
    low, high = coverage(min(empty, at_max), max(empty, at_max))
    curve = curve_through([empty, loaded], 1, [0, load_ng], [1, 1], 1, division_ng, low, high)
    return encode(CoefficientRecord(curve, mantissa, power_of_ten, max_ng // division_ng, compensation))


def parse_grams(text):
    """Return decimal text, in grams, above 0, as whole nanograms. Raises ValueError for other text."""
    whole, _, part = text.partition(".")
    if not (whole + part).isdigit() or len(part) > 9 or len(whole) > 9:
        raise ValueError(text)
    value = int(whole + part) * 10 ** (9 - len(part))
    if value == 0:
        raise ValueError(text)
    return value


def division_of(nanograms):
    """Return (mantissa, power_of_ten) of a division. Raises ValueError unless it is 1, 2 or 5 times a power of ten."""
    power = -9
    while nanograms % 10 == 0:
        nanograms //= 10
        power += 1
    if nanograms not in (1, 2, 5):
        raise ValueError(nanograms)
    return nanograms, power
