"""Counts of a recording in grams: by the scale's own coefficients, or by a straight line through what was recorded."""

from collections.abc import Callable
from fractions import Fraction

import numpy as np

from scalewright.analysis.soak import Array, Soak
from scalewright.errors import InputError
from shared_calc.coefficient_record import CoefficientRecord

InGrams = Callable[[Array], Array]
_WINDOW_S = 10.0


def curve_in_grams(record: CoefficientRecord) -> InGrams:
    """Return unrounded indications by the curve of a coefficient record.

    They raise InputError where the curve does not cover the counts.
    """
    curve = record.curve

    def in_grams(counts: Array) -> Array:
        if not (curve.covers(counts.min()) and curve.covers(counts.max())):
            raise InputError(
                f"counts from {counts.min():g} to {counts.max():g} lie outside what the coefficients cover",
                remedy="give the coefficients that this scale had",
            )
        return np.asarray(curve.evaluate(counts.astype(np.int64)) * _unit_g(record))

    return in_grams


def g_per_count(record: CoefficientRecord, counts: float) -> float:
    """Return the slope of a coefficient record's curve at these counts."""
    curve = record.curve
    t = (counts - curve.centre) / curve.half
    slope = np.polyval(np.polyder(np.array(curve.coefficients, dtype=float)), t) / curve.half
    return float(slope) * _unit_g(record)


def straight_scale(soak: Soak) -> InGrams:
    """Return indications by a straight line through the empty scale and the heaviest load of the recording.

    Through what each showed when it had stood longest. Raises InputError where the scale was never empty or never
    loaded.
    """
    dwells = soak.dwells()
    empty = [dwell for dwell in dwells if dwell.load_g == 0]
    loaded = [dwell for dwell in dwells if dwell.load_g != 0]
    if not empty or not loaded:
        raise InputError(
            "counts cannot be told in grams",
            remedy="record the empty scale and a known load, or give the scale's coefficients",
        )
    heaviest = max(loaded, key=lambda dwell: abs(dwell.load_g))
    zero, full = (mean_between(soak, soak.counts, d.end_s - _WINDOW_S, d.end_s) for d in (empty[0], heaviest))
    if full == zero:
        raise InputError(f"{heaviest.load_g:g} g makes no difference to the counts", remedy="check the wiring")
    slope = heaviest.load_g / (full - zero)
    return lambda counts: np.asarray((counts - zero) * slope)


def mean_between(soak: Soak, values: Array, start_s: float, end_s: float) -> float:
    """Return the mean of the values read between two moments. Raises InputError where there were none."""
    chosen = values[(soak.time_s >= start_s) & (soak.time_s <= end_s)]
    if not len(chosen):
        raise InputError(f"no reading from {start_s:g} s to {end_s:g} s")
    return float(np.mean(chosen))


def _unit_g(record: CoefficientRecord) -> float:
    """Return the unit of the evaluated curve."""
    return float(record.mantissa * Fraction(10) ** record.power_of_ten / 2**record.curve.binary_exponent)
