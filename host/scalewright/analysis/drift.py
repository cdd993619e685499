"""Temperature effects on zero and span from a soak, separated from creep and warm-up, with honest uncertainties.

The terms of `soak_model` are fitted together (`soak_problem`). Creep and warm-up terms are added while an F-test says
that they are worth it; then quadratic terms of temperature are left out where it says that they are not. Standard
uncertainties are of everything together, time constants included.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, sqrt
from typing import NamedTuple

import numpy as np

from scalewright.analysis.soak import SETTLE_S, Blocks, Soak, block_means
from scalewright.analysis.soak_model import Model
from scalewright.analysis.soak_problem import Conclusion, FTest, SoakProblem
from scalewright.errors import InputError
from shared_calc.temperature import PARTS_OF_A_DEGREE

QUADRATIC_LEVEL = 0.01
"""of significance at which a quadratic term of temperature is worth it"""
_LEAST_RANGE_C = 1.0
_LEAST_SHARE = 0.1


class Quantity(NamedTuple):
    """An estimate and its standard uncertainty (k = 1)."""

    value: float
    u: float


@dataclass(frozen=True)
class DriftFit:
    """What a soak says; temperatures against reference_c, in the counts of the ADC."""

    reference_c: float
    range_c: tuple[float, float]
    """the lowest and the highest temperature"""
    model: Model
    blocks: Blocks
    conclusion: Conclusion
    quadratic: Mapping[str, FTest]
    """for "zero" and "span": is the quadratic term worth it?"""

    def quantity(self, name: str) -> Quantity:
        """Return a coefficient by its name in soak_model; 0 with no uncertainty where the model has no such term."""
        end = self.conclusion
        if name not in end.names:
            return Quantity(0.0, 0.0)
        k = end.names.index(name)
        return Quantity(float(end.coefficients[k]), sqrt(float(end.covariance[k, k])))

    @property
    def zero_counts(self) -> float | None:
        """Counts of the empty scale at the reference temperature; None where it was never empty."""
        return self.quantity("level 0 g").value if 0.0 in self.blocks.loads_g else None

    def net_counts(self, load_g: float) -> float:
        """Return the counts of a load that was recorded above those of the empty scale, at the reference."""
        return self.conclusion.nets[load_g]

    def effect(self, kind: str, temperature_c: float, slope: bool = False) -> Quantity:
        """Return how far "zero" (counts) or "span" (a part) has moved from the reference to a temperature.

        slope: how fast it moves there, in 1/C.
        """
        end = self.conclusion
        t = temperature_c - self.reference_c
        lever = np.zeros(len(end.names))
        for power in (1, 2):
            if f"{kind} {power}" in end.names:
                lever[end.names.index(f"{kind} {power}")] = power * t ** (power - 1) if slope else t**power
        return Quantity(float(lever @ end.coefficients), sqrt(max(float(lever @ end.covariance @ lever), 0.0)))

    def time_constant(self, name: str) -> Quantity:
        """Return the time constant of "creep 1", "creep 2" or "warm-up" in s."""
        logarithm = self.quantity(f"log time constant of {name}")
        return Quantity(exp(logarithm.value), exp(logarithm.value) * logarithm.u)


def fit_drift(
    soak: Soak, *, reference_c: float | None = None, degree: int | None = None, settle_s: float = SETTLE_S
) -> DriftFit:
    """Return the effects of temperature, creep and warm-up in a recording.

    reference_c: None for the middle of its temperatures, to 1/16 C. degree: 1 or 2, of zero and span; None leaves the
    choice to an F-test for each, where enough temperatures were recorded. Raises InputError where load and temperature
    do not tell the effects apart.
    """
    blocks = block_means(soak, settle_s)
    range_c = _range_of(blocks)
    _check(soak, blocks, range_c)
    if reference_c is None:
        reference_c = round(sum(range_c) / 2 * PARTS_OF_A_DEGREE) / PARTS_OF_A_DEGREE
    problem = SoakProblem(blocks, reference_c, soak.temperature_step_c)
    zero_degree = degree or _highest_degree(blocks, range_c, loaded=False)
    span_degree = (degree or _highest_degree(blocks, range_c, loaded=True)) if len(blocks.loads_g) > 1 else 0
    model = problem.with_transients(Model(zero_degree, span_degree, has_rate=True))
    tests = {}
    for kind in ("zero", "span"):
        if model.degree(kind) == 2:
            without = model.with_degree(kind, 1)
            tests[kind] = problem.test(without, model)
            if degree is None and tests[kind].p >= QUADRATIC_LEVEL:
                model = problem.refined(without)
    return DriftFit(reference_c, range_c, model, blocks, problem.conclude(model), tests)


def fit_transients(soak: Soak, settle_s: float = SETTLE_S) -> DriftFit:
    """Return creep and warm-up in a recording whose temperature is steady, or has been corrected for."""
    blocks = block_means(soak, settle_s)
    problem = SoakProblem(blocks, 0.0)
    model = problem.with_transients(Model(0, 0, has_rate=False))
    return DriftFit(0.0, _range_of(blocks), model, blocks, problem.conclude(model), {})


def _highest_degree(blocks: Blocks, range_c: tuple[float, float], loaded: bool) -> int:
    """Return 2 where the recording can tell a bend: where each third of the range has its share of the readings."""
    thirds = np.linspace(*range_c, 4)
    is_meant = np.array([(dwell.load_g != blocks.loads_g[0]) == loaded for dwell in blocks.dwells])[blocks.dwell]
    shares, _ = np.histogram(blocks.temperature_c[is_meant], thirds, weights=blocks.number[is_meant])
    return 2 if np.min(shares) >= _LEAST_SHARE * np.sum(shares) else 1


def _range_of(blocks: Blocks) -> tuple[float, float]:
    return float(np.min(blocks.temperature_c)), float(np.max(blocks.temperature_c))


def _check(soak: Soak, blocks: Blocks, range_c: tuple[float, float]) -> None:
    if not soak.has_temperature:
        raise InputError("no temperature is recorded", remedy="record from a scale with a thermometer on its cell")
    if range_c[1] - range_c[0] < _LEAST_RANGE_C:
        raise InputError(
            f"the temperature hardly changes: {range_c[0]:.2f} to {range_c[1]:.2f} C",
            remedy="soak the scale over the range it is used in",
        )
    if blocks.loads_g[0] != 0 and len(blocks.loads_g) == 1:
        raise InputError(
            f"{blocks.loads_g[0]:g} g stayed on all the time, so zero and span cannot be told apart",
            remedy="soak the empty scale too",
        )
