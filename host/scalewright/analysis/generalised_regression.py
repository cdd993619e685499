"""A polynomial through points whose x and y are both uncertain and may be correlated in any way.

Minimises d' U**-1 d over the curve and the true values xi, where d = (x - xi, y - f(xi)) and U is the covariance matrix
of all x and y. One algorithm serves these clauses of ISO/TS 28037:2010, and any degree: 6 (y uncertain), 7 (x and y
uncertain), 9 (y correlated; number from memory), 10 (everything correlated).

Method: Gauss-Newton with the xi eliminated. At the present xi the residual y - f - f' (x - xi) has the covariance
V = Uyy - D Uxy - Uyx D + D Uxx D with D = diag(f'); it is whitened by V's Cholesky factor and regressed by QR on the
basis at xi; then the xi move to their best estimates. U is never inverted, so an exact load (the empty pan) needs no
invented uncertainty. For a straight line this is the iteration of clause 7 (D. York et al., "Unified equations for the
slope, intercept, and standard errors of the best straight line", Am. J. Phys. 72 (2004) 367-375, from memory).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from scalewright.analysis.calibration_function import Array, CalibrationFunction
from scalewright.errors import InputError, MeasurementError

_ROUNDS = 100
_SETTLED = 1e-10
"""a step of this many standard uncertainties is the last one; rounding may not let it become so small"""
_ROUNDING = 1e-14
_NO_COVARIANCE = "the uncertainties form no covariance matrix: a variance is 0, or a correlation is out of reach"


def generalised_regression(
    x: ArrayLike,
    y: ArrayLike,
    degree: int,
    *,
    cov_y: ArrayLike,
    cov_x: ArrayLike = 0.0,
    cov_xy: ArrayLike = 0.0,
    through: tuple[float, float] | None = None,
) -> CalibrationFunction:
    """Return the calibration function of a degree through m points.

    x, y: shape (..., m); leading axes hold many calibrations of one design. cov_x, cov_y, cov_xy: m x m, or one number
    that stands on the diagonal; cov_xy[i, j] belongs to x[i] and y[j]. through: a point (x, y) that the curve meets
    exactly. Raises InputError where the points do not determine the curve or a covariance matrix is none,
    MeasurementError where the iteration does not settle.
    """
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    centre, half = float(x.max() + x.min()) / 2, float(x.max() - x.min()) / 2
    if not half > 0:
        raise InputError("all points have the same x; expected different ones")
    basis = _Basis.of(degree, None if through is None else ((through[0] - centre) / half, through[1]))
    points = _Points(
        (x - centre) / half,
        y,
        _matrix(cov_x, x.shape[-1]) / half**2,
        _matrix(cov_y, x.shape[-1]),
        _matrix(cov_xy, x.shape[-1]) / half,
    )
    free, covariance, chi_squared = _settle(points, basis)
    return CalibrationFunction(
        centre,
        half,
        basis.coefficients(free),
        basis.expansion @ covariance @ basis.expansion.T,
        chi_squared,
        x.shape[-1] - len(basis.powers),
    )


@dataclass(frozen=True)
class _Points:
    t: Array
    y: Array
    cov_t: Array
    cov_y: Array
    cov_ty: Array

    @cached_property
    def is_independent(self) -> bool:
        """Does no point say anything about another?"""
        return not any((matrix - np.diag(np.diag(matrix))).any() for matrix in (self.cov_t, self.cov_y, self.cov_ty))

    def whitener(self, slope: Array) -> "_Whitener":
        """Return what makes the residuals y - slope * t independent and of unit variance."""
        if self.is_independent:
            t, y, ty = (np.diag(matrix) for matrix in (self.cov_t, self.cov_y, self.cov_ty))
            variance = y - 2 * slope * ty + slope**2 * t
            if not (variance > 0).all():
                raise InputError(_NO_COVARIANCE)
            return _Whitener(1 / np.sqrt(variance), True)
        cross = slope[..., :, None] * self.cov_ty
        within = slope[..., :, None] * self.cov_t * slope[..., None, :]
        try:
            factor = np.linalg.cholesky(self.cov_y - cross - cross.swapaxes(-1, -2) + within)
        except np.linalg.LinAlgError as error:
            raise InputError(_NO_COVARIANCE) from error
        return _Whitener(np.linalg.inv(factor), False)


@dataclass(frozen=True)
class _Whitener:
    """The inverse of a Cholesky factor; its diagonal only where there is nothing else."""

    factor: Array
    is_diagonal: bool

    def __call__(self, columns: Array) -> Array:
        return np.asarray(self.factor[..., None] * columns if self.is_diagonal else self.factor @ columns)

    def transposed(self, vector: Array) -> Array:
        return self.factor * vector if self.is_diagonal else _times(self.factor.swapaxes(-1, -2), vector)


@dataclass(frozen=True)
class _Basis:
    """The powers of t that are free to fit; where the curve is forced through a point, each is 0 there."""

    powers: Array
    at_anchor: Array
    offset: float
    expansion: Array
    """takes the free coefficients to those of all powers, but for the offset"""

    @classmethod
    def of(cls, degree: int, anchor: tuple[float, float] | None) -> "_Basis":
        powers = np.arange(0.0 if anchor is None else 1.0, degree + 1)
        at_anchor = np.zeros(len(powers)) if anchor is None else anchor[0] ** powers
        expansion = np.eye(degree + 1)[:, degree + 1 - len(powers) :]
        expansion[0] -= at_anchor
        return cls(powers, at_anchor, 0.0 if anchor is None else anchor[1], expansion)

    def at(self, t: Array) -> Array:
        return np.asarray(t[..., None] ** self.powers - self.at_anchor)

    def slopes_at(self, t: Array) -> Array:
        return np.asarray(self.powers * t[..., None] ** np.maximum(self.powers - 1, 0))

    def coefficients(self, free: Array) -> Array:
        every = free @ self.expansion.T
        every[..., 0] += self.offset
        return np.asarray(every)


def _settle(points: _Points, basis: _Basis) -> tuple[Array, Array, Array]:
    """Return the free coefficients, their covariance and chi-squared."""
    t, y = points.t, points.y - basis.offset
    xi = t
    q, r = _qr(basis.at(t))
    free = _times(np.linalg.inv(r), _times(q.swapaxes(-1, -2), y))
    for _ in range(_ROUNDS):
        slope = _times(basis.slopes_at(xi), free)
        whiten = points.whitener(slope)
        regressors = basis.at(xi)
        residual = y - _times(regressors, free) - slope * (t - xi)
        residual, size = np.moveaxis(whiten(np.stack([residual, y], axis=-1)), -1, 0)
        q, r = _qr(whiten(regressors))
        step = _times(q.swapaxes(-1, -2), residual)
        free = free + _times(np.linalg.inv(r), step)
        left = residual - _times(q, step)
        multipliers = whiten.transposed(left)
        xi = t - _times(points.cov_ty, multipliers) + _times(points.cov_t, slope * multipliers)
        if (np.abs(step).max(-1) < _SETTLED + _ROUNDING * np.abs(size).max(-1)).all():
            inverse = np.linalg.inv(r)
            return free, inverse @ inverse.swapaxes(-1, -2), np.asarray((left**2).sum(-1))
    raise MeasurementError(
        "the fit with errors in both variables does not settle",
        "the stated uncertainties are large against the range of the points: check their units",
    )


def _matrix(covariance: ArrayLike, size: int) -> Array:
    matrix = np.asarray(covariance, float)
    return matrix * np.eye(size) if matrix.ndim == 0 else matrix


def _qr(regressors: Array) -> tuple[Array, Array]:
    q, r = np.linalg.qr(regressors)
    sizes = np.abs(np.diagonal(r, axis1=-2, axis2=-1))
    if regressors.shape[-2] < regressors.shape[-1] or (sizes.min(-1) <= 1e-13 * sizes.max(-1)).any():
        raise InputError(f"the points do not determine {regressors.shape[-1]} coefficients; expected more different x")
    return q, r


def _times(matrix: Array, vector: Array) -> Array:
    return np.asarray((matrix @ vector[..., None])[..., 0])
