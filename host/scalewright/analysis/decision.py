"""Accept or reject: a measured value, its uncertainty, and the limits it is held against.

Words as in JCGM 106:2012: the tolerance interval holds what is permitted of the true value; the acceptance interval,
narrower by a guard band w at either end, holds what is accepted of the measured one. All in one unit; limits belong to
their interval. What was measured is taken as normally distributed about the measured value.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import erfc, exp, inf, isfinite, pi, sqrt

from scalewright.errors import InputError

Number = Fraction | Decimal | float | int
COVERAGE_FACTOR = 2


@dataclass(frozen=True)
class Interval:
    """From a lower to an upper limit; None where there is no limit on that side."""

    lower: Fraction | None
    upper: Fraction | None

    @classmethod
    def of(cls, lower: Number | None, upper: Number | None) -> "Interval":
        """Return the interval between limits of any kind of number, exactly."""
        return cls(None if lower is None else Fraction(lower), None if upper is None else Fraction(upper))

    def narrowed(self, w: Fraction) -> "Interval":
        """Return the interval that ends w further inside; with w below 0, outside."""
        return Interval(None if self.lower is None else self.lower + w, None if self.upper is None else self.upper - w)

    def contains(self, value: Fraction) -> bool:
        return (self.lower is None or self.lower <= value) and (self.upper is None or value <= self.upper)

    @property
    def is_empty(self) -> bool:
        return self.lower is not None and self.upper is not None and self.lower > self.upper

    @property
    def ends(self) -> tuple[float, float]:
        """The limits as floats, infinite where there is none."""
        return -inf if self.lower is None else float(self.lower), inf if self.upper is None else float(self.upper)


@dataclass(frozen=True)
class Rule:
    """A decision rule: how wide the guard band is, and how many answers there are."""

    words: str
    guard_factor: Fraction
    """r of w = r U"""
    is_conditional: bool = False
    """whether a value between acceptance limit and rejection limit is answered by a condition, not by yes or no"""


RULES = {
    "simple": Rule("simple acceptance, no guard band (ILAC-G8:09/2019, 4.2.1)", Fraction(0)),
    "guarded": Rule("guard band w = U (ILAC-G8:09/2019, 4.2.2)", Fraction(1)),
    "conditional": Rule("guard band w = U, conditional within it (ILAC-G8:09/2019, 4.2.3)", Fraction(1), True),
}


def guarded_by(factor: Number) -> Rule:
    """Return the rule with the guard band w = factor U. Below 0 it accepts a little beyond the limits."""
    return Rule(f"guard band w = {float(factor):g} U (ILAC-G8:09/2019)", Fraction(factor))


@dataclass(frozen=True)
class Decision:
    """What came of a decision."""

    outcome: str
    """accept, conditional accept, conditional reject or reject"""
    conformance_probability: float
    """the probability that the true value is within the tolerance, from this measurement alone"""
    acceptance: Interval
    guard_band: Fraction
    """w, in the unit of the value"""
    largest_false_accept: float
    """the probability that a value exactly at the acceptance limit is outside the tolerance (one-sided)"""
    rule: str
    """in words"""

    @property
    def passes(self) -> bool:
        """Is the answer yes, be it on a condition?"""
        return self.outcome in ("accept", "conditional accept")


def decide(
    value: Number, u: Number, tolerance: Interval, rule: Rule = RULES["simple"], k: Number = COVERAGE_FACTOR
) -> Decision:
    """Return the decision on a measured value with standard uncertainty u; U = k u.

    With a guard band the answers are accept and reject; under a conditional rule a value within the guard band inside
    the limits is a conditional accept, within as much outside them a conditional reject. Comparisons are exact.
    Raises InputError where u is below 0, k is not above 0, or the tolerance is empty.
    """
    if tolerance.is_empty or tolerance == Interval(None, None):
        raise InputError("no tolerance; expected a lower limit below the upper one, or one of them")
    if u < 0 or k <= 0:
        raise InputError(f"u = {float(u):g}, k = {float(k):g}; expected u from 0 and k above 0")
    measured, w = Fraction(value), rule.guard_factor * Fraction(k) * Fraction(u)
    acceptance = tolerance.narrowed(w)
    return Decision(
        outcome=_outcome(measured, tolerance, w, rule.is_conditional),
        conformance_probability=conformance_probability(float(measured), float(u), tolerance),
        acceptance=acceptance,
        guard_band=w,
        largest_false_accept=normal_probability(-float(rule.guard_factor) * float(k)),
        rule=rule.words,
    )


def _outcome(measured: Fraction, tolerance: Interval, w: Fraction, is_conditional: bool) -> str:
    if tolerance.narrowed(w).contains(measured):
        return "accept"
    if is_conditional and tolerance.contains(measured):
        return "conditional accept"
    if is_conditional and tolerance.narrowed(-w).contains(measured):
        return "conditional reject"
    return "reject"


def normal_probability(z: float) -> float:
    """Return the probability that a standard normal quantity is at most z, good in both tails."""
    return erfc(-z / sqrt(2)) / 2


def conformance_probability(value: float, u: float, tolerance: Interval) -> float:
    """Return the probability that the true value is within the tolerance (JCGM 106:2012, 7.3 and 7.4)."""
    if u == 0:
        return float(tolerance.contains(Fraction(value)))
    return _probability_between(value, u, tolerance)


def _probability_between(mean: float, sd: float, interval: Interval) -> float:
    low, high = ((end - mean) / sd for end in interval.ends)
    if low > 0:  # both ends in the upper tail, where 1 minus something would lose the digits
        low, high = -high, -low
    return normal_probability(high) - normal_probability(low)


@dataclass(frozen=True)
class GlobalRisk:
    """The risks of a decision rule over everything a process makes (JCGM 106:2012, clause 9)."""

    conforming: float
    """how much of what is made conforms"""
    consumer: float
    """R_C: accepted, yet does not conform"""
    producer: float
    """R_P: rejected, yet conforms"""


def global_risk(prior_mean: float, prior_sd: float, u: float, tolerance: Interval, acceptance: Interval) -> GlobalRisk:
    """Return the risks where true values are normal with a prior mean and sd, and measured with standard uncertainty u.

    Source: JCGM 106:2012, 9.5, R_C and R_P as integrals over the prior. prior_sd and u are above 0, else InputError.
    """
    if not (prior_sd > 0 and u > 0 and isfinite(prior_sd) and isfinite(u)):
        raise InputError(f"prior sd {prior_sd:g}, u {u:g}; expected both above 0")

    def density(true_value: float) -> float:
        return exp(-(((true_value - prior_mean) / prior_sd) ** 2) / 2) / (prior_sd * sqrt(2 * pi))

    def accepted(true_value: float) -> float:
        return density(true_value) * _probability_between(true_value, u, acceptance)

    def rejected(true_value: float) -> float:
        low, high = ((end - true_value) / u for end in acceptance.ends)
        return density(true_value) * (normal_probability(low) + normal_probability(-high))

    nearly_all = (prior_mean - 12 * prior_sd, prior_mean + 12 * prior_sd)
    low, high = (min(max(end, nearly_all[0]), nearly_all[1]) for end in tolerance.ends)
    edges = [end + step * u for end in acceptance.ends for step in (-8, 8) if isfinite(end)]
    return GlobalRisk(
        conforming=_probability_between(prior_mean, prior_sd, tolerance),
        consumer=_integral(accepted, nearly_all[0], low, edges) + _integral(accepted, high, nearly_all[1], edges),
        producer=_integral(rejected, low, high, edges),
    )


def _integral(function: Callable[[float], float], start: float, stop: float, edges: list[float]) -> float:
    """Return the integral by Simpson's rule, in pieces between the edges around which the function is steep."""
    ends = [start, *sorted(edge for edge in edges if start < edge < stop), stop]
    return sum(_simpson(function, a, b) for a, b in pairwise(ends) if a < b)


def _simpson(function: Callable[[float], float], start: float, stop: float, steps: int = 400) -> float:
    width = (stop - start) / steps
    values = [function(start + width * k) for k in range(steps + 1)]
    return width / 3 * (values[0] + values[-1] + 4 * sum(values[1:-1:2]) + 2 * sum(values[2:-1:2]))
