"""The law of propagation of uncertainty for any model: y = f(x), from the covariance of x to that of y.

JCGM 100:2008, 5.1.2 and 5.2.2; several outputs at once, as its example H.2 needs them. A model takes an array whose
first axis runs over the input quantities and answers with an array of the remaining shape, or, for several outputs,
with one more axis in front. It is called once, on all the points that a derivative needs.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from scalewright.analysis.budget import Budget, Component
from scalewright.analysis.calibration_function import Array

Model = Callable[[Array], Array]
_STEP = 1 / 32
"""of a standard uncertainty: what differences of second order are taken over"""


@dataclass(frozen=True)
class Propagated:
    """Outputs of a model and how uncertain they are. For one output of n inputs the leading axes fall away."""

    values: Array
    """shape (m,)"""
    jacobian: Array
    """shape (m, n): what each output changes by with each input"""
    covariance: Array
    """shape (m, m)"""

    @property
    def u(self) -> Array:
        """Standard uncertainty of each output."""
        return np.sqrt(self.covariance.diagonal() if self.covariance.ndim else self.covariance)

    @property
    def correlation(self) -> Array:
        """Correlation coefficients between the outputs."""
        return np.asarray(self.covariance / np.outer(self.u, self.u))


def propagate(model: Model, x: ArrayLike, covariance: ArrayLike, jacobian: Array | None = None) -> Propagated:
    """Return the model's outputs at x with their covariance.

    x: shape (n,). covariance: n x n. jacobian: (n,) for one output, else (m, n); taken numerically where not given.
    """
    x, covariance = np.asarray(x, float), np.asarray(covariance, float)
    if jacobian is None:
        jacobian = numerical_jacobian(model, x, np.sqrt(covariance.diagonal()))
    return Propagated(np.asarray(model(x)), jacobian, np.asarray(jacobian @ covariance @ jacobian.T))


def numerical_jacobian(model: Model, x: ArrayLike, u: ArrayLike) -> Array:
    """Return the derivative of each output by each input, shape (n,) or (m, n).

    Central differences over +- h and +- h/2, extrapolated to a step of 0: what is left of the error falls with the
    fourth power of h. h is u (JCGM 100:2008, 5.1.3, note 2) unless rounding would show: at least 1e-5 of the input.
    """
    x = np.asarray(x, float)
    step = np.maximum(u, 1e-5 * abs(x))
    step[step == 0] = 1.0
    diagonal = np.diag(step)
    at = x[:, None, None] + np.stack([diagonal, -diagonal, diagonal / 2, -diagonal / 2], axis=1)
    up, down, half_up, half_down = np.moveaxis(np.asarray(model(at)), -2, 0)
    return np.asarray((8 * (half_up - half_down) - (up - down)) / (6 * step))


def second_order_variance(model: Model, x: ArrayLike, u: ArrayLike) -> float:
    """Return what the terms of second order add to the variance of one output, its inputs being independent.

    sum over i, j of (f_ij**2 / 2 + f_i f_ijj) u_i**2 u_j**2 (JCGM 100:2008, 5.1.2, note), by differences. The terms
    with i = j hold for normal distributions, the others for all symmetric ones. It matters where a first derivative is
    near 0, as that of an air density of 1.2 kg/m3 in the conventional mass (JCGM 101:2008, 9.3).
    """
    x, u = np.asarray(x, float), np.asarray(u, float)
    move = np.diag(u) * _STEP

    def slope(j: int, at: Array) -> float:
        return float(model(at + move[j]) - model(at - move[j])) / (2 * _STEP)

    def bend(j: int, at: Array) -> float:
        return float(model(at + move[j]) - 2 * model(at) + model(at - move[j])) / _STEP**2

    total = 0.0
    for i, j in product(range(len(x)), repeat=2):
        up, down = x + move[i], x - move[i]
        mixed = (slope(j, up) - slope(j, down)) / (2 * _STEP)
        bent = (bend(j, up) - bend(j, down)) / (2 * _STEP)
        total += mixed**2 / 2 + slope(i, x) * bent
    return total


def evaluate(
    model: Model,
    inputs: Sequence[Component],
    correlations: Mapping[tuple[str, str], float] | None = None,
    *,
    second_order: bool = False,
) -> Budget:
    """Return the budget of a model with one output: the inputs with the sensitivities that the model gives them."""
    x, u = np.array([i.estimate for i in inputs]), np.array([i.u for i in inputs])
    sensitivities = numerical_jacobian(model, x, u)
    return Budget(
        float(model(x)),
        tuple(replace(i, sensitivity=float(c)) for i, c in zip(inputs, sensitivities, strict=True)),
        correlations or {},
        second_order_variance(model, x, u) if second_order else 0.0,
    )
