"""The results of one test of a job, computed anew from what the scale answered: errors, uncertainty, decisions.

The budget is that of EURAMET cg-18 (analysis.error_of_indication). The reference mass of a load is known as well as its
plan says, so the load counts as one weight; the classes of its pieces tell what air does to it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import sqrt
from typing import Any

from scalewright.analysis.budget import Budget
from scalewright.analysis.decision import Interval, Rule, decide
from scalewright.analysis.error_of_indication import (
    AdjustedBefore,
    AppliedLoad,
    Buoyancy,
    NotAdjusted,
    Repeatability,
    ScaleUnderTest,
    Weight,
    error_of_indication,
)
from scalewright.certificates.document import Finding, Point, Share, Test
from scalewright.equipment import MassSet, Piece
from scalewright.errors import InputError
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.range_check import RangeCheck, Step
from scalewright.procedures.requests import Load
from scalewright.procedures.scale_under_test import Held
from shared_calc.coefficient_record import CoefficientRecord

FROM_PAIRS = "repeatability was not tested: it is taken from readings of one load, rising and falling"
NOT_OFF_CENTRE = "eccentric loading was not tested: it is not in the uncertainty"


@dataclass(frozen=True)
class Tested:
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

    def test(self, tested: Tested) -> Test:
        """Return what was found in one state. Raises InputError where it is not enough for an uncertainty."""
        checks = [(plan, steps) for plan, steps in _pairs(tested) if isinstance(plan, RangeCheck)]
        if not checks:
            raise InputError(f"the job has no errors over the range, {tested.state}; a certificate needs them")
        scale = self._scale(tested, [step for _, steps in checks for step in steps])
        points = [
            self._point(scale, load, step)
            for plan, steps in checks
            for load, step in zip(plan.loads, steps, strict=True)
        ]
        return Test(tested.state, tuple(points), findings=_findings(tested))

    def _scale(self, tested: Tested, steps: Sequence[Step]) -> ScaleUnderTest:
        is_known = all(piece.weight_class for masses in self.masses for piece in masses.pieces) and self.masses
        buoyancy: Buoyancy = AdjustedBefore() if tested.was_just_adjusted and is_known else NotAdjusted()
        return ScaleUnderTest(_resolution_g(tested.record), from_pairs(steps), 0.0, buoyancy)

    def _point(self, scale: ScaleUnderTest, load: Load, step: Step) -> Point:
        weights = [self._weight(load)] if load.load_g else []
        indication_g, nominal_g = Fraction(load.load_g) + step.error_g, self._nominal_g(load)
        budget = error_of_indication(scale, AppliedLoad(weights, float(indication_g))).budget
        limit_g = self.held.limits.permissible_error_g(Fraction(nominal_g), in_service=self.held.in_service)
        decision = decide(step.error_g, budget.u, Interval(-limit_g, limit_g), self.rule, budget.coverage_factor)
        return Point(
            load_g=nominal_g,
            direction=step.direction,
            reference_g=Fraction(load.load_g),
            indication_g=indication_g,
            u_error_g=budget.u,
            degrees_of_freedom=budget.degrees_of_freedom,
            k=budget.coverage_factor,
            limit_g=limit_g,
            outcome=decision.outcome,
            shares=_shares(budget),
        )

    def _nominal_g(self, load: Load) -> Decimal:
        """Return what is marked on the pieces: that is where a limit changes, whatever they really weigh."""
        return sum((piece.nominal_g for piece in self._pieces(load)), start=Decimal(0)) or load.load_g

    def _weight(self, load: Load) -> Weight:
        if load.u_load_g is None:
            raise InputError(
                f"nothing says how well the load of {load.load_g} g is known, so there is no uncertainty",
                remedy="register the reference masses, and begin the job with them",
            )
        pieces = self._pieces(load)
        mpe_g = float(sum(piece.class_error_g or 0 for piece in pieces))
        return Weight(float(load.load_g), mpe_g, expanded_u_g=2 * float(load.u_load_g))

    def _pieces(self, load: Load) -> list[Piece]:
        pieces = {piece.name: piece for masses in self.masses for piece in masses.pieces}
        return [pieces[name] for name in load.pieces if name in pieces]


def from_pairs(steps: Sequence[Step]) -> Repeatability:
    """Return how far readings of one load scatter, from those rising and falling; hysteresis is in it.

    s2 = sum of the squared differences over twice their number (JCGM 100:2008, H.3.6, note, of pairs). Raises
    InputError where no load was read twice.
    """
    errors: dict[Any, list[Fraction]] = {}
    for step in steps:
        errors.setdefault(step.load_g, []).append(step.error_g)
    differences = [b - a for found in errors.values() for a, b in pairwise(found)]
    if not differences:
        raise InputError(
            "no load was read twice, so nothing tells the repeatability",
            remedy="plan a repeatability test, or loads rising and falling",
        )
    return Repeatability(sqrt(sum(d * d for d in differences) / (2 * len(differences))), len(differences))


def _pairs(tested: Tested) -> list[tuple[Any, Any]]:
    return list(zip(tested.plans, tested.results, strict=True))


def _resolution_g(record: CoefficientRecord) -> float:
    """Return the step of indications before they are rounded to d: that of a count, or of the curve's own unit."""
    from scalewright.analysis.grams import g_per_count

    unit_g = float(record.mantissa * Fraction(10) ** record.power_of_ten / 2**record.curve.binary_exponent)
    return max(abs(g_per_count(record, record.curve.centre)), unit_g)


def _shares(budget: Budget) -> tuple[Share, ...]:
    return tuple(Share(c.name, abs(c.contribution)) for c in budget.components if c.u)


def _findings(tested: Tested) -> tuple[Finding, ...]:
    """Return every figure of the tests that have no table of their own."""
    own = [f"{tested.stage}: {plan.title}" for plan in tested.plans if not isinstance(plan, RangeCheck)]
    return tuple(
        Finding(outcome.what, outcome.value, outcome.limit, outcome.unit, outcome.source)
        for outcome in tested.outcomes
        if outcome.stage in own
    )
