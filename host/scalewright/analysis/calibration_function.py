"""A fitted calibration function and its covariance, used in both directions with uncertainty.

Whatever the fit (exact, errors in both variables, correlated), its user needs the same few things: the value, the
slope, the inverse, and how sure they are (ISO/TS 28037:2010, clause 11; formulas checked against its examples).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import comb
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scalewright.analysis.polynomial import PolynomialFit
from scalewright.errors import InputError

Array = NDArray[np.floating[Any]]
REACH = 1.25
"""how far from the middle a function may be used, in halves of its range: an eighth of the range beyond either end"""
_ROUNDS = 80
_SETTLED = 1e-15


@dataclass(frozen=True)
class CalibrationFunction:
    """y = c0 + c1 t + c2 t**2 + ... with t = (x - centre) / half, so that t runs from -1 to 1 over the points.

    In t the coefficients are of a size and hardly depend on one another, wherever the counts lie on the ADC's range.
    Leading axes, where there are any, hold many functions of one design. A method given one x answers with one value a
    function; given an array of n it answers with n along the last axis.
    """

    centre: float
    half: float
    coefficients: Array
    """shape (..., degree + 1), lowest power of t first"""
    covariance: Array
    """shape (..., degree + 1, degree + 1)"""
    chi_squared: Array
    """the weighted sum of squares that was minimised; nan where no uncertainties were stated"""
    degrees_of_freedom: int

    @property
    def has_stated_uncertainties(self) -> bool:
        """Whether the covariance follows from stated uncertainties, not from the scatter of the residuals."""
        return not bool(np.isnan(self.chi_squared).any())

    def value(self, x: ArrayLike) -> Array:
        """Return y at x."""
        return self._horner(self.coefficients, x)

    def slope(self, x: ArrayLike) -> Array:
        """Return dy/dx at x."""
        return self._horner(self._derivative / self.half, x)

    def u_value(self, x: ArrayLike, u_x: ArrayLike = 0.0) -> Array:
        """Return the standard uncertainty of y at x, x itself having the standard uncertainty u_x."""
        return np.asarray(np.sqrt(self._variance(x) + np.square(self.slope(x) * np.asarray(u_x, float))))

    def inverse(self, y: ArrayLike, u_y: ArrayLike = 0.0) -> tuple[Array, Array]:
        """Return the x at which the function is y, and its standard uncertainty, y itself having u_y.

        The root is bracketed and refined until it moves no more. Raises InputError where y lies outside what the
        function covers, or the function turns back so that y would belong to more than one x.
        """
        if self.turns_back().any():
            raise InputError("the curve turns back within its range: an indication would belong to two loads")
        y = np.asarray(y, float)
        if y.ndim == 0:
            x, u_x = self.inverse(y[None], u_y)
            return x[..., 0], u_x[..., 0]
        x = self._root(y) * self.half + self.centre
        return x, np.sqrt(self._variance(x) + np.square(u_y)) / abs(self.slope(x))

    def turns_back(self) -> NDArray[np.bool_]:
        """Does the slope change its sign within REACH?

        Solved for 1 / t, where the leading coefficient is the slope in the middle, which is never near 0 in a usable
        curve, by the eigenvalues of the companion matrix.
        """
        derivative = self._derivative
        size = derivative.shape[-1] - 1
        with np.errstate(divide="ignore", invalid="ignore"):
            ratios = -derivative[..., 1:] / derivative[..., :1]
        companion = np.zeros((*derivative.shape[:-1], size, size))
        companion[..., np.arange(1, size), np.arange(size - 1)] = 1
        companion[..., :1, :] = np.where(np.isfinite(ratios), ratios, 0)[..., None, :]
        reciprocals = np.linalg.eigvals(companion)
        real = abs(reciprocals.imag) <= 1e-9 * abs(reciprocals.real)
        within = real & (abs(reciprocals.real) * REACH >= 1)
        return np.asarray(within.any(-1) | (derivative[..., 0] == 0))

    def powers_of_x(self) -> tuple[Array, Array]:
        """Return the coefficients and their covariance for y = c0 + c1 x + c2 x**2 + ..., as a report names them."""
        size = self.coefficients.shape[-1]
        change = np.zeros((size, size))
        for j in range(size):
            for k in range(j, size):
                change[j, k] = comb(k, j) * (-self.centre) ** (k - j) / self.half**k
        return self.coefficients @ change.T, change @ self.covariance @ change.T

    def coverage_factor(self, probability: float = 0.95) -> float:
        """Return k of the interval that holds the truth with this probability: normal, or t where scatter was used."""
        from scipy.special import ndtri, stdtrit

        tail = (1 + probability) / 2
        return float(ndtri(tail) if self.has_stated_uncertainties else stdtrit(self.degrees_of_freedom, tail))

    def chi_squared_limit(self, probability: float = 0.95) -> float:
        """Return what chi_squared stays below with this probability where model and uncertainties are right."""
        from scipy.special import chdtri

        return float(chdtri(self.degrees_of_freedom, 1 - probability))

    def _root(self, y: Array) -> Array:
        """Return t at which the function is y: Newton's method in a bracket that is halved where Newton leaves it."""
        at_low, at_high = self.value([self.centre - REACH * self.half, self.centre + REACH * self.half]).T[..., None]
        if ((y - at_low) * (y - at_high) > 0).any():
            raise InputError("an indication lies more than an eighth of the range beyond the calibrated points")
        low, high = np.full_like(y + at_low, -REACH), np.full_like(y + at_low, REACH)
        t = (2 * y - at_low - at_high) / (at_high - at_low) * REACH
        for _ in range(_ROUNDS):
            x = self.centre + t * self.half
            excess = self.value(x) - y
            is_above = (excess > 0) == (at_high > at_low)
            low, high = np.where(is_above, low, t), np.where(is_above, t, high)
            new = t - excess / (self.slope(x) * self.half)
            new = np.where((new < low) | (new > high), (low + high) / 2, new)
            if np.abs(new - t).max() <= _SETTLED:
                break
            t = new
        return np.asarray(new)

    @property
    def _derivative(self) -> Array:
        return np.asarray(self.coefficients[..., 1:] * np.arange(1, self.coefficients.shape[-1]))

    def _horner(self, coefficients: Array, x: ArrayLike) -> Array:
        """Return the polynomial at x; the axis of the points, if x has any, follows those of the functions."""
        t = (np.asarray(x, float) - self.centre) / self.half
        columns = np.moveaxis(coefficients, -1, 0)[(..., None) if t.ndim else ...]
        y = columns[-1] + 0 * t
        for column in columns[-2::-1]:
            y = y * t + column
        return np.asarray(y)

    def _variance(self, x: ArrayLike) -> Array:
        t = (np.asarray(x, float) - self.centre) / self.half
        basis = t[..., None] ** np.arange(self.coefficients.shape[-1])
        covariance = self.covariance[..., None, :, :] if t.ndim else self.covariance
        variance = ((covariance @ basis[..., None])[..., 0] * basis).sum(-1)
        return np.asarray(np.maximum(variance, 0))  # where it is 0, rounding may leave less


def calibration_function(fit: PolynomialFit, x: Sequence[Fraction | Decimal | int]) -> CalibrationFunction:
    """Return the function that an exact fit through points at x found; its numbers are moved to t before rounding.

    Its covariance follows from the stated uncertainties where the fit was weighted by them, else from the scatter.
    Raises InputError where there is neither.
    """
    variance = Fraction(1) if fit.weighted else fit.residual_variance
    if variance is None:
        raise InputError(f"{len(x)} points leave no degree of freedom to judge the scatter by; expected more points")
    low, high = Fraction(min(x)), Fraction(max(x))
    centre, half = (low + high) / 2, (high - low) / 2
    size = fit.first_power + len(fit.coefficients)
    change = [
        [comb(k, j) * centre ** (k - j) * half**j if j <= k else Fraction(0) for k in range(fit.first_power, size)]
        for j in range(size)
    ]
    half_way = [[sum(a * b for a, b in zip(row, c, strict=True)) for c in fit.covariance_factor] for row in change]
    return CalibrationFunction(
        float(centre),
        float(half),
        np.array([float(sum(a * b for a, b in zip(row, fit.coefficients, strict=True))) for row in change]),
        np.array([[float(variance * sum(a * b for a, b in zip(u, v, strict=True))) for v in change] for u in half_way]),
        np.array(float(fit.residual_sum) if fit.weighted else np.nan),
        fit.degrees_of_freedom,
    )
