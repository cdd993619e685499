"""Which degree of polynomial the points ask for, and why, in words.

F-test: does the highest term reduce the sum of squares by more than scatter would? Leave-one-out: does the curve
predict a point better that it has not seen? Degrees are tried from the highest down, as ASTM E74 does, so that a cubic
hidden behind an insignificant quadratic is found. A significant term that makes predictions worse rests on single
points, and is refused.

ASTM E74 (annex A1, formula from memory) keeps degree m where s(m-1) / s(m) > C with
C**2 = 1 + (F_0.975(1, n - m - 1) - 1) / (n - m). As F = (n - m) (s(m-1) / s(m))**2 - (n - m - 1), that is this very
F-test at the level 0.025, on the means of equal loads.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import sqrt

from scalewright.analysis.influence import Influence, Number, influences, left_out_rms
from scalewright.analysis.polynomial import PolynomialFit, fit_polynomial
from scalewright.analysis.student_t import chance, two_sided_tail
from scalewright.errors import InputError
from shared_calc.fit import FitError

E74_DEGREE = 5
E74_LEVEL = 0.025
_LOWER_LIMIT_FACTOR = 2.4  # ASTM E74 (from memory)


@dataclass(frozen=True)
class Candidate:
    """One degree, and how it does."""

    degree: int
    fit: PolynomialFit
    influences: tuple[Influence, ...]
    f: float | None
    """F of the highest term; None where no scatter is left to hold it against, or there is no degree below"""
    p: float | None
    """the probability of such an F, or a larger one, where the highest term is 0 in truth"""

    @property
    def left_out_rms(self) -> float | None:
        """How far off a point is that the curve has not seen, as a root mean square in the unit of y."""
        return left_out_rms(self.influences)


@dataclass(frozen=True)
class Choice:
    """The degree to use, and the reasons."""

    candidates: tuple[Candidate, ...]
    degree: int
    reasons: tuple[str, ...]

    @property
    def chosen(self) -> Candidate:
        return next(candidate for candidate in self.candidates if candidate.degree == self.degree)


def choose_degree(
    x: Sequence[Number],
    y: Sequence[Number],
    *,
    highest: int = 3,
    u: Sequence[Number] | None = None,
    through_zero: bool = False,
    level: float = 0.05,
) -> Choice:
    """Return the degree from 1 to `highest` that points in exact numbers ask for, at a level of significance.

    u: standard uncertainties of y, or None for equal weights. Degrees that the points do not determine are left out.
    Raises InputError where not even a straight line is determined.
    """
    candidates: list[Candidate] = []
    for degree in range(1, highest + 1):
        try:
            fit = fit_polynomial(x, y, degree, u=u, through_zero=through_zero)
        except FitError:
            break
        lower = candidates[-1].fit if candidates else None
        candidates.append(Candidate(degree, fit, influences(fit, x, u), *_f_test(fit, lower)))
    if not candidates:
        raise InputError(f"{len(x)} points do not determine a straight line; expected two different ones")
    return _choose(candidates, level)


def choose_degree_by_e74(loads: Sequence[Number], deflections: Sequence[Number]) -> Choice:
    """Return the degree up to 5 that ASTM E74 selects: on the mean deflection of each load."""
    means = means_by_load(loads, deflections)
    return choose_degree([*means], [*means.values()], highest=E74_DEGREE, level=E74_LEVEL)


def e74_factor(number_of_loads: int, degree: int) -> float:
    """Return C of ASTM E74: the ratio of residual deviations above which a degree is kept."""
    from scipy.special import fdtri

    freedom = number_of_loads - degree - 1
    return float((1 + (fdtri(1, freedom, 1 - E74_LEVEL) - 1) / (freedom + 1)) ** 0.5)


def lower_limit_factor(fit: PolynomialFit) -> float | None:
    """Return the lower limit factor of ASTM E74, in the unit of y: 2.4 residual standard deviations."""
    return None if fit.residual_sd is None else _LOWER_LIMIT_FACTOR * fit.residual_sd


def means_by_load(loads: Sequence[Number], values: Sequence[Number]) -> dict[Fraction, Fraction]:
    """Return the exact mean value of each different load, by rising load."""
    gathered: dict[Fraction, list[Fraction]] = {}
    for load, value in zip(loads, values, strict=True):
        gathered.setdefault(Fraction(load), []).append(Fraction(value))
    return {load: sum(gathered[load], Fraction(0)) / len(gathered[load]) for load in sorted(gathered)}


def _f_test(fit: PolynomialFit, lower: PolynomialFit | None) -> tuple[float | None, float | None]:
    if lower is None or not fit.residual_variance:
        return None, None
    f = float((lower.residual_sum - fit.residual_sum) / fit.residual_variance)
    return f, two_sided_tail(sqrt(max(f, 0.0)), fit.degrees_of_freedom)


def _choose(candidates: Sequence[Candidate], level: float) -> Choice:
    reasons = []
    for lower, candidate in reversed(list(pairwise(candidates))):
        keeps, reason = _verdict(candidate, lower, level)
        reasons.append(reason)
        if keeps:
            return Choice(tuple(candidates), candidate.degree, tuple(reasons))
    reasons.append("degree 1: no higher degree is kept")
    return Choice(tuple(candidates), 1, tuple(reasons))


def _verdict(candidate: Candidate, lower: Candidate, level: float) -> tuple[bool, str]:
    """Return whether the degree is kept, and why."""
    name = f"degree {candidate.degree}"
    if not candidate.fit.degrees_of_freedom:
        return False, f"{name}: no degree of freedom is left, so the curve meets every point and nothing tests it"
    if candidate.f is None or candidate.p is None:
        if lower.fit.residual_sum == 0:
            return False, f"{name}: degree {lower.degree} meets every point already"
        return True, f"{name}: meets every point, which degree {lower.degree} does not"
    test = f"F = {candidate.f:.4g} for its highest term"
    if candidate.p >= level:
        return False, f"{name}: {test}; scatter alone does that in {candidate.p:.0%} of calibrations: not needed"
    rare = f"{test}; the chance that scatter alone does that is {chance(candidate.p)}"
    with_it, without = candidate.left_out_rms, lower.left_out_rms
    if with_it is None or without is None or with_it >= without:
        return False, f"{name}: {rare}; but points left out are predicted no better, so it rests on single points"
    return True, f"{name}: {rare}; points left out are missed by {with_it:.3g} instead of {without:.3g} (rms)"
