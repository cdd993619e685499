"""The results of one state of a scale, computed anew from what it answered: errors, uncertainty, decisions.

The budget is that of EURAMET cg-18 (analysis.error_of_indication). The reference mass of a load is known as well as its
plan says, so the load counts as one weight; the classes of its pieces tell what air does to it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import sqrt
from typing import Any

from scalewright.analysis.budget import Budget
from scalewright.analysis.decision import Interval, Rule, decide
from scalewright.analysis.error_of_indication import (
    AdjustedBefore,
    AppliedLoad,
    NotAdjusted,
    Repeatability,
    ScaleUnderTest,
    eccentricity,
    error_of_indication,
)
from scalewright.certificates.document import Eccentricity, Finding, Point, Position, Series, Share, Test
from scalewright.certificates.measured import Loads, Measured, measured
from scalewright.equipment import MassSet
from scalewright.errors import InputError
from scalewright.procedures.changeover import ChangeoverTest
from scalewright.procedures.eccentricity import EccentricityTest
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.repeatability import RepeatabilityTest
from scalewright.procedures.scale_under_test import Held, division_of
from scalewright.procedures.substitution import SubstitutionTest
from shared_calc.coefficient_record import CoefficientRecord

FROM_PAIRS = "repeatability was not tested: it is taken from readings of one load, rising and falling"
NOT_OFF_CENTRE = "eccentric loading was not tested: it is not in the uncertainty"
_WITH_TABLES = (RangeCheck, ChangeoverTest, SubstitutionTest, RepeatabilityTest, EccentricityTest)


@dataclass(frozen=True)
class FoundState:
    """One state of the scale: the tests of the plan, what came of them, and what it weighed with."""

    state: str
    stage: str
    """what the job calls it: the first words of its stages"""
    plans: tuple[Any, ...]
    results: tuple[Any, ...]
    outcomes: tuple[Outcome, ...]
    """of the whole job"""
    record: CoefficientRecord
    was_just_adjusted: bool


@dataclass(frozen=True)
class Judge:
    """What holds for every test of a job."""

    rule: Rule
    masses: tuple[MassSet, ...]
    held: Held

    def test(self, state: FoundState) -> Test:
        """Return what was found in one state. Raises InputError where it is not enough for an uncertainty."""
        loads = Loads(self.masses, self.held)
        pairs = list(zip(state.plans, state.results, strict=True))
        found = [error for pair in pairs for error in measured(*pair, loads)]
        if not found:
            raise InputError(f"the job has no errors over the range, {state.state}; a certificate needs them")
        series = tuple(part for pair in pairs for part in _series(*pair, loads))
        off_centre = [_eccentricity(plan, result, loads) for plan, result in pairs if type(plan) is EccentricityTest]
        scale = self._scale(state, found, series, off_centre)
        points = tuple(self._point(scale, error) for error in found)
        return Test(state.state, points, series, off_centre[0] if off_centre else None, _findings(state))

    def _scale(
        self, state: FoundState, found: Sequence[Measured], series: Sequence[Series], off_centre: Sequence[Eccentricity]
    ) -> ScaleUnderTest:
        classes = [piece.weight_class for masses in self.masses for piece in masses.pieces]
        is_known = state.was_just_adjusted and bool(classes) and all(classes)
        weighings = [tuple(map(float, part.indications_g)) for part in series]
        return ScaleUnderTest(
            division_g=_resolution_g(state.record),
            repeatability=Repeatability.of(*weighings) if weighings else from_pairs(found),
            u_relative_eccentricity=max(map(_u_relative, off_centre), default=0.0),
            buoyancy=AdjustedBefore() if is_known else NotAdjusted(),
        )

    def _point(self, scale: ScaleUnderTest, found: Measured) -> Point:
        division_g = scale.division_g if found.division_g is None else found.division_g
        applied = AppliedLoad([found.weight] if found.weight else [], float(found.indication_g), division_g=division_g)
        budget = error_of_indication(replace(scale, division_at_zero_g=division_g), applied).budget
        tolerance = Interval(-found.limit_g, found.limit_g)
        decision = decide(found.error_g, budget.u, tolerance, self.rule, budget.coverage_factor)
        return Point(
            load_g=found.nominal_g,
            direction=found.direction,
            reference_g=found.reference_g,
            indication_g=found.indication_g,
            u_error_g=budget.u,
            degrees_of_freedom=budget.degrees_of_freedom,
            k=budget.coverage_factor,
            limit_g=found.limit_g,
            outcome=decision.outcome,
            shares=_shares(budget),
        )


def from_pairs(found: Sequence[Measured]) -> Repeatability:
    """Return how far readings of one load scatter, from those rising and falling; hysteresis is in it.

    s2 = sum of the squared differences over twice their number (JCGM 100:2008, H.3.6, note, of pairs). Raises
    InputError where no load was read twice.
    """
    errors: dict[Fraction, list[Fraction]] = {}
    for each in found:
        errors.setdefault(each.reference_g, []).append(each.error_g)
    differences = [b - a for same in errors.values() for a, b in pairwise(same)]
    if not differences:
        raise InputError(
            "no load was read twice, so nothing tells the repeatability",
            remedy="plan a repeatability test, or loads rising and falling",
        )
    return Repeatability(sqrt(sum(d * d for d in differences) / (2 * len(differences))), len(differences))


def _series(plan: Any, result: Any, loads: Loads) -> Iterator[Series]:
    """Return the series of a repeatability test, and that of a build-up with ballast."""
    match plan:
        case RepeatabilityTest():
            for load, found in zip(plan.loads, result, strict=True):
                yield Series(loads.nominal_g(load), found.indications_g, found.s_g, found.limit_g)
        case SubstitutionTest():
            found = result.repeatability
            yield Series(loads.nominal_g(plan.reference), found.indications_g, found.s_g, found.limit_g)


def _eccentricity(plan: EccentricityTest, found: Any, loads: Loads) -> Eccentricity:
    shown = zip(found.places, found.indications_g, strict=True)
    positions = tuple(Position(place.name, place.x, place.y, indication_g) for place, indication_g in shown)
    return Eccentricity(loads.nominal_g(plan.load), Fraction(plan.load.load_g), positions, found.limit_g)


def _u_relative(found: Eccentricity) -> float:
    middle, *others = (float(position.indication_g) for position in found.positions)
    return eccentricity(float(found.reference_g), middle, others)


def _resolution_g(record: CoefficientRecord) -> float:
    """Return the step of indications before they are rounded to d: that of a count, or of the curve's own unit."""
    from scalewright.analysis.grams import g_per_count

    unit_g = float(division_of(record) / 2**record.curve.binary_exponent)
    return max(abs(g_per_count(record, record.curve.centre)), unit_g)


def _shares(budget: Budget) -> tuple[Share, ...]:
    return tuple(Share(c.name, abs(c.contribution)) for c in budget.components if c.u)


def _findings(state: FoundState) -> tuple[Finding, ...]:
    """Return every figure of the tests that have no table of their own."""
    titles = [f"{state.stage}: {plan.title}" for plan in state.plans if not isinstance(plan, _WITH_TABLES)]
    return tuple(
        Finding(outcome.what, outcome.value, outcome.limit, outcome.unit, outcome.source)
        for outcome in state.outcomes
        if outcome.stage in titles
    )
