"""Errors of indication as the tests of a job found them, in one form whichever test it was."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from scalewright.analysis.error_of_indication import Weight
from scalewright.equipment import MassSet, Piece
from scalewright.errors import InputError
from scalewright.procedures.changeover import SMALL_PARTS, ChangeoverTest
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.requests import Load
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.substitution import BuiltUpError, SubstitutionTest


@dataclass(frozen=True)
class Measured:
    """One error before it has an uncertainty."""

    nominal_g: Decimal
    reference_g: Fraction
    error_g: Fraction
    direction: str
    limit_g: Fraction
    weight: Weight | None
    """what stood on the scale; None: nothing"""
    division_g: float | None = None
    """the step it was found in; None: that of indications before rounding"""

    @property
    def indication_g(self) -> Fraction:
        return self.reference_g + self.error_g


@dataclass(frozen=True)
class Loads:
    """What is known of the loads of a job."""

    masses: tuple[MassSet, ...]
    held: Held

    def pieces(self, load: Load) -> list[Piece]:
        """Return the pieces a load was put together from."""
        known = {piece.name: piece for masses in self.masses for piece in masses.pieces}
        return [known[name] for name in load.pieces if name in known]

    def nominal_g(self, load: Load) -> Decimal:
        """Return what is marked on a load: there a limit changes, whatever it really weighs."""
        return sum((piece.nominal_g for piece in self.pieces(load)), start=Decimal(0)) or load.load_g

    def weight(self, load: Load) -> Weight | None:
        """Return a load as one weight. Raises InputError where its uncertainty is not known."""
        return _weight(load.load_g, load.u_load_g, self.mpe_g(load)) if load.load_g else None

    def mpe_g(self, load: Load) -> Fraction:
        """Return how far the pieces may be off by their classes; a piece without a class counts nothing."""
        return sum((piece.class_error_g or Fraction(0) for piece in self.pieces(load)), start=Fraction(0))

    def measured(self, load: Load, error_g: Fraction, direction: str, division_g: Fraction | None = None) -> Measured:
        """Return an error at a load."""
        nominal_g = self.nominal_g(load)
        limit_g = self.held.limits.permissible_error_g(Fraction(nominal_g), in_service=self.held.in_service)
        step_g = None if division_g is None else float(division_g)
        return Measured(nominal_g, Fraction(load.load_g), error_g, direction, limit_g, self.weight(load), step_g)


def measured(plan: Any, result: Any, loads: Loads) -> Iterator[Measured]:
    """Return the errors that a test found; none where it is not one of errors over the range."""
    match plan:
        case RangeCheck():
            for load, step in zip(plan.loads, result, strict=True):
                yield loads.measured(load, step.error_g, step.direction)
        case ChangeoverTest():
            for load, step in zip(plan.loads, result.steps, strict=True):
                yield loads.measured(load, step.error_g, step.direction, step.at.division_g / SMALL_PARTS)
        case SubstitutionTest():
            for times, built in enumerate(result.steps, 1):
                yield _built_up(plan.reference, times, built, loads)


def _built_up(reference: Load, times: int, built: BuiltUpError, loads: Loads) -> Measured:
    weight = _weight(built.load_g, built.u_load_g, times * loads.mpe_g(reference))
    nominal_g = times * loads.nominal_g(reference)
    return Measured(nominal_g, built.load_g, built.error_g, "", built.limit_g, weight)


def _weight(load_g: Decimal | Fraction, u_load_g: Decimal | float | None, mpe_g: Fraction) -> Weight:
    if u_load_g is None:
        raise InputError(
            f"nothing says how well the load of {float(load_g):g} g is known, so there is no uncertainty",
            remedy="register the reference masses, and begin the job with them",
        )
    return Weight(float(load_g), float(mpe_g), expanded_u_g=2 * float(u_load_g))
