"""The shape that calibrated units of one design share, for `type_curve.py`.

Each unit gets its own exact fit of load on counts; the places where that is 0 and Max are its zero and full counts, and
in q between them the fit is the unit's shape, 0 at 0 and 1 at 1. The type's shape is the mean of the units' shapes,
every unit counting alike, since units differ by more than one unit's fit is off. A further unit's shape differs from
that mean with the covariance among the units times (1 + 1/n); the scatter of the fits is in it.
"""

from collections.abc import Mapping
from decimal import Context, Decimal
from fractions import Fraction
from math import comb

import numpy as np

from scalewright.analysis.calibration_function import calibration_function
from scalewright.analysis.fit_points import fit_points
from scalewright.analysis.polynomial import fit_to
from scalewright.analysis.type_curve import TypeCurve, Unit
from scalewright.errors import InputError
from scalewright.recordings import Observations

_DIGITS = Context(prec=15)


def pool(units: Mapping[str, Observations], degree: int, max_g: Decimal, design: str) -> TypeCurve:
    """Return the type curve of calibrated units, given by name.

    degree: 1 to 3, as the device evaluates. max_g: Max of the design; the loads of each unit must reach from zero to
    it, or nearly. Raises InputError, naming the file, where a unit's points do not determine such a curve.
    """
    if not units or not 1 <= degree <= 3:
        raise InputError(f"{len(units)} units and degree {degree}; expected one unit or more and degree 1 to 3")
    shapes, described = zip(*(_shape(name, unit, degree, max_g) for name, unit in units.items()), strict=True)
    off = np.array(shapes) - np.mean(shapes, axis=0)
    covariance = None
    if len(units) > 1:
        among = off.T @ off / (len(units) - 1) * (1 + 1 / len(units))
        covariance = tuple(tuple(float(c) for c in row) for row in among)
    mean = tuple(_DIGITS.create_decimal_from_float(float(a)) for a in np.mean(shapes, axis=0))
    return TypeCurve(design, max_g, mean, covariance, described)


def _shape(name: str, unit: Observations, degree: int, max_g: Decimal) -> tuple[list[float], Unit]:
    """Return a2, a3, ... of one unit, and its description."""
    points = fit_points(unit, "load")
    fit = fit_to(points, degree, use_uncertainties=False)
    function = calibration_function(fit, points.x)
    try:
        (zero, full), _ = function.inverse([0.0, float(max_g)])
    except InputError as error:
        raise InputError(f"its loads do not reach from 0 to Max, {max_g} g: {error}", file=unit.file) from error
    start, span = Fraction(float(zero)), Fraction(float(full - zero))
    shape = [
        sum(c * comb(k, j) * start ** (k - j) * span**j for k, c in enumerate(fit.coefficients) if k >= j)
        for j in range(2, degree + 1)
    ]
    residual_sd_g = fit.residual_sd or 0.0
    return [float(a / Fraction(max_g)) for a in shape], Unit(name, float(zero), float(full), residual_sd_g)
