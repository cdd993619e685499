"""From observed points to the curve the device will use: the exact fit, then its quantisation."""

from shared_calc.curve import quantise, span_of
from shared_calc.fit import fit_polynomial


def curve_through(count_sums, readings, loads, weights, degree, division, low, high):
    """Return the Curve that gives the loads, in divisions, from the ADC's counts.

    count_sums: for each point the sum of `readings` raw counts, so that a mean stays an exact integer.
    loads: ints in any unit of mass in which `division` is an int too. weights: ints > 0.
    low, high: the raw counts the curve must cover. Raises FitError or CurveError.
    """
    centre, shift = span_of(low, high)
    x = [counts - centre * readings for counts in count_sums]
    numerators, denominator = fit_polynomial(x, loads, weights, degree)
    for k in range(1, degree + 1):
        numerators[k] *= readings ** k
    return quantise(numerators, denominator * division, centre, shift)


def coverage(low, high):
    """Return the counts a curve should cover that was calibrated from low to high.

    An eighth of the range more on either side: room for the zero to drift and for Max + 9 d, and no more, so that the
    curve is not trusted far from where it was seen.
    """
    margin = (high - low) >> 3
    return max(low - margin, -0x800000), min(high + margin, 0x7FFFFF)
