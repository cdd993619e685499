"""How much each point has to say about a curve, and how well the curve does without it; exact until shown.

The leverage h of a point is the share of its own residual that it takes away by pulling the curve: 0 < h <= 1, and the
leverages of all points sum to the number of coefficients. The residual it would have had, had it not taken part, is
e / (1 - h): leave-one-out without fitting again (D. A. Belsley, E. Kuh, R. E. Welsch, Regression Diagnostics, Wiley
1980, chapter 2; from memory). A point with h = 1 is met whatever it shows: nothing can be said about it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import copysign, inf

from scalewright.analysis.polynomial import PolynomialFit, nearest_sqrt

Number = Fraction | Decimal | int


@dataclass(frozen=True)
class Influence:
    """One point's part in a fit."""

    leverage: Fraction
    left_out_residual: Fraction | None
    """y minus the curve through all other points; None where those do not determine a curve"""
    studentised: float | None
    """the left-out residual over its standard deviation, the scatter being that of the other points (externally
    studentised); follows Student's t with one degree of freedom less than the fit; None where there is none"""


def influences(fit: PolynomialFit, x: Sequence[Number], u: Sequence[Number] | None = None) -> tuple[Influence, ...]:
    """Return the influence of each point of a fit; x and u are those the fit was made with."""
    weights = [Fraction(1)] * len(x) if u is None else [1 / Fraction(value) ** 2 for value in u]
    return tuple(
        _influence(fit, _leverage(fit, Fraction(value), weight), residual, weight)
        for value, weight, residual in zip(x, weights, fit.residuals, strict=True)
    )


def left_out_rms(influences: Sequence[Influence]) -> float | None:
    """Return the root mean square of the left-out residuals; None where some point cannot be left out."""
    squares = [i.left_out_residual**2 for i in influences if i.left_out_residual is not None]
    return nearest_sqrt(sum(squares, Fraction(0)) / len(squares)) if len(squares) == len(influences) else None


def _leverage(fit: PolynomialFit, x: Fraction, weight: Fraction) -> Fraction:
    powers = [x**k for k in range(fit.first_power, fit.first_power + len(fit.coefficients))]
    rows = zip(powers, fit.covariance_factor, strict=True)
    return weight * sum(p * sum(c * q for c, q in zip(row, powers, strict=True)) for p, row in rows)


def _influence(fit: PolynomialFit, leverage: Fraction, residual: Fraction, weight: Fraction) -> Influence:
    if leverage == 1:
        return Influence(leverage, None, None)
    left_out = residual / (1 - leverage)
    freedom = fit.degrees_of_freedom - 1
    if freedom < 1:
        return Influence(leverage, left_out, None)
    without = (fit.residual_sum - weight * residual * left_out) / freedom
    if residual == 0:
        return Influence(leverage, left_out, 0.0)
    if without == 0:
        return Influence(leverage, left_out, copysign(inf, residual))
    return Influence(leverage, left_out, copysign(nearest_sqrt(weight * residual * left_out / without), residual))
