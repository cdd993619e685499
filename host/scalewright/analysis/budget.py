"""An uncertainty budget: what a result's uncertainty is made of, combined by the law of propagation of uncertainty.

JCGM 100:2008 (GUM): sensitivities and correlation 5.1.3 and 5.2.2, distributions 4.3, effective degrees of freedom and
coverage factor annex G. A budget has no unit of its own: its result and contributions share one, which `as_json` puts
into the names of its fields.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import erf, floor, inf, isfinite, sqrt
from statistics import fmean, stdev
from typing import Any

from scalewright.errors import InputError

PROBABILITY = erf(sqrt(2))
"""of the coverage interval: 95.45 %, which k = 2 gives a normal distribution"""
DIVISORS = {"rectangular": sqrt(3), "triangular": sqrt(6), "arcsine": sqrt(2)}
"""half-width over standard uncertainty (JCGM 100:2008, 4.3.7 and 4.3.9; arcsine: JCGM 101:2008, 6.4.6)"""
DISTRIBUTIONS = ("normal", "t", *DIVISORS)
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Component:
    """One input quantity, and how much of it reaches the result."""

    name: str
    u: float
    """standard uncertainty, in the input's own unit; of a t distribution: its scale (JCGM 101:2008, 6.4.9)"""
    evaluation: str = "B"
    """A: from the scatter of readings; B: from anything else"""
    distribution: str = "normal"
    """one of DISTRIBUTIONS; only a Monte Carlo calculation asks for it"""
    degrees_of_freedom: float = inf
    estimate: float = 0.0
    """best estimate of the input, in its own unit"""
    sensitivity: float = 1.0
    """change of the result with the input"""

    @property
    def contribution(self) -> float:
        """The part of the result's standard uncertainty that comes from this input, with the sensitivity's sign."""
        return self.sensitivity * self.u


def from_readings(name: str, readings: Sequence[float], averaged: int | None = None) -> Component:
    """Return the mean of repeated readings as a component of type A (JCGM 100:2008, 4.2).

    averaged: of how many readings the result makes a mean, where they are not those that show the scatter (1: a single
    reading). Raises InputError below two readings.
    """
    if len(readings) < 2:
        raise InputError(f"{name}: {len(readings)} readings show no scatter; expected at least 2")
    u = stdev(readings) / sqrt(len(readings) if averaged is None else averaged)
    return Component(name, u, "A", "t", len(readings) - 1, fmean(readings))


def from_limits(name: str, half_width: float, distribution: str = "rectangular", estimate: float = 0.0) -> Component:
    """Return a quantity known to lie within estimate +- half_width, as a component of type B."""
    return Component(name, half_width / DIVISORS[distribution], "B", distribution, inf, estimate)


def from_certificate(name: str, expanded_u: float, k: float = 2.0, estimate: float = 0.0) -> Component:
    """Return a quantity whose certificate states an expanded uncertainty with coverage factor k."""
    return Component(name, expanded_u / k, "B", "normal", inf, estimate)


def degrees_of_freedom_of(relative_u_of_u: float) -> float:
    """Return the degrees of freedom of an uncertainty that is itself known to this share (JCGM 100:2008, G.4.2)."""
    return 0.5 / relative_u_of_u**2


def coverage_factor(degrees_of_freedom: float = inf, probability: float = PROBABILITY) -> float:
    """Return k so that +- k u holds this probability, the degrees of freedom cut to a whole number (G.4.1)."""
    if not isfinite(degrees_of_freedom):
        return _quantile(inf, probability)
    return _quantile(max(floor(degrees_of_freedom * (1 + _ROUNDING)), 1), probability)


@cache
def _quantile(degrees_of_freedom: float, probability: float) -> float:
    from scipy.special import ndtri, stdtrit

    tail = (1 + probability) / 2
    return float(stdtrit(degrees_of_freedom, tail) if isfinite(degrees_of_freedom) else ndtri(tail))


@dataclass(frozen=True)
class Budget:
    """A result with everything its uncertainty is made of."""

    estimate: float
    components: tuple[Component, ...]
    correlations: Mapping[tuple[str, str], float] = field(default_factory=dict)
    """correlation coefficients by the names of two components; those not named are independent"""
    second_order_variance: float = 0.0
    """what the terms of second order add to the variance (JCGM 100:2008, 5.1.2, note)"""

    @property
    def u(self) -> float:
        """Combined standard uncertainty."""
        return sqrt(self._variance_and_freedom()[0])

    @property
    def degrees_of_freedom(self) -> float:
        """Effective degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.2b), not yet cut.

        Components correlated with one another count as one. Its degrees of freedom are theirs where they were read
        together and so have the same (H.2.4, second approach); where they differ, the fewest.
        """
        return self._variance_and_freedom()[1]

    @property
    def coverage_factor(self) -> float:
        return coverage_factor(self.degrees_of_freedom)

    @property
    def expanded_u(self) -> float:
        """Expanded uncertainty for a coverage probability of 95.45 %."""
        variance, freedom = self._variance_and_freedom()
        return coverage_factor(freedom) * sqrt(variance)

    @property
    def interval(self) -> tuple[float, float]:
        return self.estimate - self.expanded_u, self.estimate + self.expanded_u

    def evaluate(self, inputs: Any) -> Any:
        """Return the result for other values of the inputs, one a row of an array, by the sensitivities."""
        change = (c.sensitivity * (x - c.estimate) for c, x in zip(self.components, inputs, strict=True))
        return self.estimate + sum(change)

    def as_json(self, unit: str) -> dict[str, Any]:
        """Return the budget as one JSON object; `unit`, such as "g", ends the names of fields that have it.

        Infinite degrees of freedom are null. A component's own u and estimate are in its own unit.
        """
        freedom = self.degrees_of_freedom
        return {
            f"estimate_{unit}": self.estimate,
            f"u_{unit}": self.u,
            "degrees_of_freedom": _finite(freedom),
            "coverage_factor": self.coverage_factor,
            "coverage_probability": PROBABILITY,
            f"expanded_u_{unit}": self.expanded_u,
            f"u_second_order_{unit}": sqrt(self.second_order_variance),
            "components": [_component_as_json(component, unit) for component in self.components],
            "correlations": [{"names": names, "coefficient": r} for names, r in self.correlations.items()],
        }

    def __str__(self) -> str:
        """The budget as a plain table, without components that are exactly known."""
        lines = [f"{'component':32}{'type':>5} {'distribution':13}{'u':>11}{'sensitivity':>13}{'c u':>12}{'dof':>6}"]
        lines += [_line(component) for component in self.components if component.u]
        if self.second_order_variance:
            lines.append(f"{'second order':74}{sqrt(self.second_order_variance):>12.4g}")
        lines.append(f"{'combined':74}{self.u:>12.4g}{_dof(self.degrees_of_freedom):>6}")
        lines.append(f"{f'expanded, k = {self.coverage_factor:.2f}':74}{self.expanded_u:>12.4g}")
        return "\n".join(lines)

    def _variance_and_freedom(self) -> tuple[float, float]:
        variance, spread = self.second_order_variance, 0.0
        for part, freedom in self._independent_parts():
            variance += part
            spread += part * part / freedom
        return max(variance, 0.0), variance * variance / spread if spread else inf

    def _independent_parts(self) -> list[tuple[float, float]]:
        """Return variance and degrees of freedom of each group of components that are correlated with one another."""
        if not self.correlations:
            return [((c.sensitivity * c.u) ** 2, c.degrees_of_freedom) for c in self.components]
        return [self._part(group) for group in _connected([c.name for c in self.components], self.correlations)]

    def _part(self, names: set[str]) -> tuple[float, float]:
        by_name = {c.name: c for c in self.components if c.name in names}
        variance = sum(c.contribution**2 for c in by_name.values())
        for (one, other), r in self.correlations.items():
            if one in by_name:
                variance += 2 * r * by_name[one].contribution * by_name[other].contribution
        return variance, min(c.degrees_of_freedom for c in by_name.values())


def check_correlations(names: Sequence[str], correlations: Mapping[tuple[str, str], float]) -> None:
    """Raise InputError unless every coefficient is from -1 to 1 and belongs to two of the names, all different."""
    if len(set(names)) < len(names):
        raise InputError("two components have the same name; expected different ones where some are correlated")
    for (one, other), r in correlations.items():
        if one == other or one not in names or other not in names or not -1 <= r <= 1:
            found = f"correlation {r:g} between {one!r} and {other!r}"
            raise InputError(f"{found}; expected -1 to 1 between two of {', '.join(names)}")


def _connected(names: Sequence[str], correlations: Mapping[tuple[str, str], float]) -> list[set[str]]:
    """Return the names in groups, two that are correlated always in the same one."""
    check_correlations(names, correlations)
    groups = [{name} for name in names]
    for pair in correlations:
        joined = [group for group in groups if group & set(pair)]
        groups = [group for group in groups if not group & set(pair)] + [set().union(*joined)]
    return groups


def _component_as_json(component: Component, unit: str) -> dict[str, Any]:
    return {
        "name": component.name,
        "type": component.evaluation,
        "distribution": component.distribution,
        "estimate": component.estimate,
        "u": component.u,
        "sensitivity": component.sensitivity,
        f"contribution_{unit}": component.contribution,
        "degrees_of_freedom": _finite(component.degrees_of_freedom),
    }


def _line(c: Component) -> str:
    start = f"{c.name:32}{c.evaluation:>5} {c.distribution:13}{c.u:>11.4g}{c.sensitivity:>13.4g}"
    return f"{start}{c.contribution:>12.4g}{_dof(c.degrees_of_freedom):>6}"


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None


def _dof(value: float) -> str:
    return f"{value:.4g}" if value < 1e4 else "inf"
