"""How uncertain a calibration curve is when its loads and its counts are: the law of propagation, in closed form.

The curve is the weighted least-squares polynomial of load on counts, as the device evaluates it, its weights fixed. It
is linear in the loads: with exact counts the result is exact, whatever the size of the uncertainties. It is not linear
in the counts: with uncertain counts the result is of first order, and `curve_draws` shows how far that carries.

Method: polynomials orthogonal over the points, by their recurrence (G. E. Forsythe, "Generation and use of orthogonal
polynomials for data-fitting with a digital computer", J. SIAM 5 (1957) 74-88, from memory); no equations to solve.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from scalewright.analysis.budget import Budget, Component
from scalewright.analysis.calibration_function import Array
from scalewright.errors import InputError


@dataclass(frozen=True)
class UncertainPoints:
    """The points of one calibration with their standard uncertainties: arrays of one length n.

    counts and load_g may have leading axes, which hold many calibrations of one design.
    """

    counts: Array
    load_g: Array
    degree: int
    """of the curve through them"""
    u_counts: Array
    u_load_g: Array
    """what each load has for itself"""
    common_u_load_g: Array
    """by how much each load moves with what all share: one mass standard, one set, the air. With sqrt(r) times an
    uncertainty here and sqrt(1 - r) times it in u_load_g, the loads are correlated by r"""
    weights: Array
    """of the fit; only their ratios count"""

    def __post_init__(self) -> None:
        one = self.counts if self.counts.ndim == 1 else self.counts.reshape(-1, self.counts.shape[-1])[0]
        different = len(set(one.tolist()))
        if not 1 <= self.degree < different:
            raise InputError(f"{different} different counts do not determine degree {self.degree}")

    @classmethod
    def of(
        cls,
        counts: ArrayLike,
        load_g: ArrayLike,
        degree: int = 1,
        *,
        u_counts: ArrayLike = 0.0,
        u_load_g: ArrayLike = 0.0,
        common_u_load_g: ArrayLike = 0.0,
        weights: ArrayLike = 1.0,
    ) -> "UncertainPoints":
        """Return the points of one calibration; an uncertainty or weight given as one number is that of every point."""
        x = np.asarray(counts, float)
        y, u_x, u_y, common, w = (
            _one_each(given, x) for given in (load_g, u_counts, u_load_g, common_u_load_g, weights)
        )
        return cls(x, y, degree, u_x, u_y, common, w)

    @property
    def are_linear(self) -> bool:
        """Whether the curve depends linearly on all that is uncertain."""
        return not self.u_counts.any()


@dataclass(frozen=True)
class CurveUncertainty:
    """The curve at some counts and what makes it uncertain: arrays of the shape (..., places)."""

    load_g: Array
    by_counts_g2: Array
    by_loads_g2: Array
    """variances; of the loads, each for itself"""
    by_common_g: Array
    """what the curve moves by with all that the loads share"""

    @property
    def u_g(self) -> Array:
        """Standard uncertainty."""
        return np.sqrt(self.by_counts_g2 + self.by_loads_g2 + self.by_common_g * self.by_common_g)

    def budget(self, place: int, reading: Component | None = None) -> Budget:
        """Return the budget of the load at one place; `reading`: that of the counts there, with its sensitivity."""
        components = (
            Component("counts at calibration", float(self.by_counts_g2[place]) ** 0.5),
            Component("loads, each for itself", float(self.by_loads_g2[place]) ** 0.5),
            Component("what the loads share", float(abs(self.by_common_g[place]))),
        )
        return Budget(float(self.load_g[place]), components if reading is None else (*components, reading))


def curve_uncertainty(points: UncertainPoints, at: Array) -> CurveUncertainty:
    """Return the curve at an array of counts by the law of propagation (JCGM 100:2008, 5.1.2 and 5.2.2)."""
    by_load, by_count = sensitivities(points, at)
    return CurveUncertainty(
        (by_load @ points.load_g[..., None])[..., 0],
        (by_count * by_count) @ (points.u_counts * points.u_counts),
        (by_load * by_load) @ (points.u_load_g * points.u_load_g),
        by_load @ points.common_u_load_g,
    )


def sensitivities(points: UncertainPoints, at: Array) -> tuple[Array, Array]:
    """Return what the curve at each of `at` changes by with each load and with each count, both (..., places, n)."""
    basis, slopes, wanted, norms = _orthogonal(points, at)
    weighted = points.weights * basis
    reach = (wanted / norms).swapaxes(-1, -2)
    by_load = reach @ weighted
    coefficients = (weighted @ points.load_g[..., None] / norms).swapaxes(-1, -2)
    pulls = points.weights * (points.load_g[..., None, :] - coefficients @ basis)
    return by_load, (reach @ slopes) * pulls - by_load * (coefficients @ slopes)


def _one_each(given: ArrayLike, points: Array) -> Array:
    values = np.asarray(given, float)
    if values.ndim and values.shape != points.shape:
        raise InputError(f"{values.size} values for {points.size} points; expected one each, or one for all")
    return values if values.ndim else np.full(points.shape, values)


def _orthogonal(points: UncertainPoints, at: Array) -> tuple[Array, Array, Array, Array]:
    """Return the orthogonal polynomials at the points, their slopes there, at `at`, and their sums of squares.

    Shapes (..., degree + 1, n), the same, (..., degree + 1, places) and (..., degree + 1, 1).
    """
    x, w, size = points.counts, points.weights, points.degree + 1
    lead = x.shape[:-1]
    basis, slopes = np.empty((*lead, size, x.shape[-1])), np.zeros((*lead, size, x.shape[-1]))
    wanted, norms = np.empty((*lead, size, len(at))), np.empty((*lead, size, 1))
    basis[..., 0, :] = wanted[..., 0, :] = 1.0
    norms[..., 0, :] = w.sum()
    for k in range(points.degree):
        p, norm = basis[..., k, :], norms[..., k, :]
        middle = np.vecdot(w * p * p, x)[..., None] / norm
        basis[..., k + 1, :] = (x - middle) * p
        wanted[..., k + 1, :] = (at - middle) * wanted[..., k, :]
        slopes[..., k + 1, :] = p
        if k:
            ratio = norm / norms[..., k - 1, :]
            basis[..., k + 1, :] -= ratio * basis[..., k - 1, :]
            wanted[..., k + 1, :] -= ratio * wanted[..., k - 1, :]
            slopes[..., k + 1, :] += (x - middle) * slopes[..., k, :] - ratio * slopes[..., k - 1, :]
        norms[..., k + 1, 0] = np.vecdot(w * basis[..., k + 1, :], basis[..., k + 1, :])
    return basis, slopes, wanted, norms
