"""Monte Carlo of a calibration: every draw moves the loads and the counts and fits its own curve (JCGM 101:2008).

It takes little longer than to draw the numbers: a block of draws stays in the processor's cache, lies in rows a point,
and is fitted as a whole by normal equations in powers of t, which runs from -1 to 1. Nothing is formed that need not
be: the loads, in which the curve is linear, enter by sums over the powers. Sums go through `einsum` or through products
too small for a BLAS to start threads on, which costs more than it saves.
"""

import numpy as np
from numpy.typing import ArrayLike

from scalewright.analysis.calibration_function import Array
from scalewright.analysis.curve_uncertainty import UncertainPoints, sensitivities
from scalewright.analysis.monte_carlo import BLOCK, MonteCarlo, generators


def draw_curve(points: UncertainPoints, at: ArrayLike, draws: int, *, seed: int = 0) -> tuple[MonteCarlo, ...]:
    """Return so many draws of the curve's load at each of `at`, an array of counts; all uncertainties normal.

    Where the counts are exact the curve is linear in all that is drawn, and so are the draws, exactly.
    """
    at = np.atleast_1d(np.asarray(at, float))
    draw_block = (_LinearCurve if points.are_linear else _FittedCurves)(points, at)
    values = np.empty((len(at), -(-draws // BLOCK) * BLOCK))
    for start, generator in zip(range(0, draws, BLOCK), generators(seed), strict=False):
        values[:, start : start + BLOCK] = draw_block(generator)
    return tuple(MonteCarlo(row[:draws]) for row in values)


class _LinearCurve:
    """The one matrix that takes loads to the curve, applied to the draws of the loads."""

    def __init__(self, points: UncertainPoints, at: Array) -> None:
        by_load, _ = sensitivities(points, at)
        self._loads = (by_load @ points.load_g)[:, None]
        self._shares = np.hstack([by_load * points.u_load_g, (by_load @ points.common_u_load_g)[:, None]])
        self._normals = np.empty((len(points.counts) + 1, BLOCK))

    def __call__(self, generator: np.random.Generator) -> Array:
        normals = generator.standard_normal(out=self._normals)
        return np.asarray(self._loads + np.einsum("ki,ib->kb", self._shares, normals))


class _FittedCurves:
    """A curve through each draw's own points. Rows are points, columns are draws.

    What differs from point to point is spelled out as a full block, because to multiply two blocks is quicker than to
    stretch a column over one; what is alike at all points needs no block at all.
    """

    def __init__(self, points: UncertainPoints, at: Array) -> None:
        n, centre, u_counts = len(points.counts), points.counts.mean(), points.u_counts
        unit = u_counts[0] if _are_alike(u_counts) else abs(points.counts - centre).max()
        weights = points.weights / points.weights.sum()
        self._degree = points.degree
        self._wanted = ((at - centre) / unit)[:, None] ** np.arange(1, points.degree + 1)
        self._t = _block((points.counts - centre) / unit)
        self._u_t = None if _are_alike(u_counts) else _block(u_counts / unit)
        self._u_loads = _block(weights * points.u_load_g)
        self._weights = None if _are_alike(weights) else _block(weights * n)
        self._sums = np.array([weights, weights * points.load_g, weights * points.common_u_load_g])
        self._powers = np.empty((points.degree, n, BLOCK))
        self._normals = np.empty((2 * n + 1, BLOCK))
        self._result = np.empty((len(at), BLOCK))

    def __call__(self, generator: np.random.Generator) -> Array:
        """Return the curves of one block: drawn are the counts, the loads, and what the loads share."""
        normals = generator.standard_normal(out=self._normals)  # at once: in two halves is slower
        n = len(self._t)
        powers = self._powers_of(normals[:n])
        loads, common = normals[n:-1], normals[-1]
        loads *= self._u_loads
        _, sum_loads, sum_common = self._sums.sum(axis=1)
        constant = loads.sum(axis=0) + sum_loads + sum_common * common
        low = [self._sums @ power for power in powers]
        right = [
            np.einsum("ib,ib->b", power, loads) + by_load + by_common * common
            for power, (_, by_load, by_common) in zip(powers, low, strict=True)
        ]
        last = powers[-1] if self._weights is None else np.multiply(powers[-1], self._weights, out=self._powers[-1])
        high = [np.einsum("ib,ib->b", power, last) / n for power in powers]
        return self._evaluate([*(means for means, _, _ in low), *high], constant, right)

    def _powers_of(self, t: Array) -> list[Array]:
        """Return t, t**2, ... of each draw's own counts, given its normal numbers."""
        if self._u_t is not None:
            t *= self._u_t
        t += self._t
        powers = [t]
        for buffer in self._powers[:-1]:
            powers.append(np.multiply(powers[-1], t, out=buffer))
        return powers

    def _evaluate(self, moments: list[Array], constant: Array, right: list[Array]) -> Array:
        """Return the curves, given the weighted means of t**1 ... t**(2 degree), of the loads, and of loads * t**k.

        Taking the means off leaves as many equations as the degree.
        """
        means, size = moments[: self._degree], self._degree
        rows: list[list[Array]] = [
            [moments[i + j + 1] - means[i] * means[j] for j in range(i, size)] for i in range(size)
        ]
        coefficients = solve_symmetric(rows, [b - mean * constant for b, mean in zip(right, means, strict=True)])
        for row, wanted in zip(self._result, self._wanted, strict=True):
            row[:] = constant
            for coefficient, power, mean in zip(coefficients, wanted, means, strict=True):
                row += coefficient * (power - mean)
        return self._result


def solve_symmetric(rows: list[list[Array]], right: list[Array]) -> list[Array]:
    """Return x with rows @ x = right for many small symmetric positive definite systems at once.

    rows[i][j] holds the element i, i + j of every system. Elimination without pivoting; what is given is overwritten.
    """
    size = len(right)
    for k in range(size):
        for i in range(k + 1, size):
            factor = rows[k][i - k] / rows[k][0]
            for j in range(i, size):
                rows[i][j - i] -= factor * rows[k][j - k]
            right[i] -= factor * right[k]
    for k in reversed(range(size)):
        for j in range(k + 1, size):
            right[k] -= rows[k][j - k] * right[j]
        right[k] /= rows[k][0]
    return right


def _are_alike(values: Array) -> bool:
    return bool((values == values[0]).all())


def _block(column: Array) -> Array:
    return np.repeat(column, BLOCK).reshape(len(column), BLOCK)
