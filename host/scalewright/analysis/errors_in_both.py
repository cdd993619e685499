"""A polynomial through points whose load and indication are both uncertain, independently of one another.

Two ways. *Effective variance* turns the uncertainty of x into one of y by the slope, u**2 = u_y**2 + (f' u_x)**2, until
the curve no longer changes u, and then solves exactly: the result is a PolynomialFit like any other, for the device.
It ignores that the weights move with the curve. *Errors in both* (the generalised distance regression of
ISO/TS 28037:2010, clause 7) minimises the distance to the curve itself and is the maximum-likelihood answer. On a
scale u_x and u_y are small against the range, and the two differ by less than 1e-5 of a standard uncertainty; on the
example of clause 7.4, uncertain to several per cent of the range, the slopes are 2.144 and 2.160, u = 0.136.
"""

from collections.abc import Sequence
from decimal import Context, Decimal
from fractions import Fraction
from math import hypot

import numpy as np
from numpy.typing import ArrayLike

from scalewright.analysis.calibration_function import CalibrationFunction
from scalewright.analysis.fit_points import FitPoints
from scalewright.analysis.generalised_regression import generalised_regression
from scalewright.analysis.polynomial import PolynomialFit, fit_polynomial
from scalewright.errors import InputError, MeasurementError

Number = Fraction | Decimal | int
_ROUNDS = 50
_DIGITS = Context(prec=12)
_SETTLED = 1e-9


def effective_variance_fit(
    x: Sequence[Number],
    y: Sequence[Number],
    u_x: Sequence[Number],
    u_y: Sequence[Number],
    degree: int,
    *,
    through_zero: bool = False,
) -> tuple[PolynomialFit, list[Decimal]]:
    """Return the exact fit weighted by the effective variance, and the square roots of that, settled to 1e-9 of itself.

    u_x, u_y: standard uncertainties; at no point may both be 0. Raises FitError as `fit_polynomial` does, InputError
    and MeasurementError.
    """
    fit = fit_polynomial(x, y, degree, through_zero=through_zero)
    u = _effective(fit, x, u_x, u_y)
    for _ in range(_ROUNDS):
        fit = fit_polynomial(x, y, degree, u=u, through_zero=through_zero)
        new = _effective(fit, x, u_x, u_y)
        if all(abs(a - b) <= _SETTLED * float(b) for a, b in zip(new, u, strict=True)):
            return fit, u
        u = new
    raise MeasurementError("the effective variance does not settle", "check the units of the stated uncertainties")


def errors_in_both(
    x: ArrayLike,
    y: ArrayLike,
    u_x: ArrayLike,
    u_y: ArrayLike,
    degree: int,
    through: tuple[float, float] | None = None,
) -> CalibrationFunction:
    """Return the generalised distance regression of a degree; u_x, u_y: shape (m,), standard uncertainties.

    Arguments and errors otherwise as for `generalised_regression`.
    """
    cov_x, cov_y = (np.diag(np.square(np.asarray(u, float))) for u in (u_x, u_y))
    return generalised_regression(x, y, degree, cov_x=cov_x, cov_y=cov_y, through=through)


def fit_errors_in_both(points: FitPoints, degree: int) -> CalibrationFunction:
    """Return the generalised distance regression through points, by their stated uncertainties."""
    x, y = np.array(points.x, float), np.array(points.y, float)
    u_x, u_y = (np.array(u, float) for u in stated_uncertainties(points))
    return errors_in_both(x, y, u_x, u_y, degree, (0.0, 0.0) if points.through_zero else None)


def stated_uncertainties(points: FitPoints) -> tuple[tuple[Fraction, ...], tuple[Fraction, ...]]:
    """Return those of x and of y; a quantity that states none is taken as exact. Raises InputError where both do."""
    u_x, u_y = points.u_x(), points.u_y(may_be_zero=True)
    if u_x is None and u_y is None:
        message = "no uncertainty is stated; expected load_u_g, counts_u or both"
        raise InputError(message, file=points.observations.file)
    exact = (Fraction(0),) * len(points.x)
    return u_x or exact, u_y or exact


def _effective(fit: PolynomialFit, x: Sequence[Number], u_x: Sequence[Number], u_y: Sequence[Number]) -> list[Decimal]:
    """Return the uncertainties of y with those of x in them, by the slope of the curve there."""
    combined = [hypot(float(b), float(fit.slope(value)) * float(a)) for value, a, b in zip(x, u_x, u_y, strict=True)]
    if not all(combined):
        raise InputError("a point has uncertainty 0 in both load and indication; expected one above 0")
    return [_DIGITS.create_decimal_from_float(value) for value in combined]
