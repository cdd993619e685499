"""The daily check: one or two check masses, in seconds, against the tolerance and for the control chart."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from scalewright.errors import ProcedureError
from scalewright.procedures.outcomes import Outcome, Stage
from scalewright.procedures.requests import NOTHING, Load, ReadCoefficients
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import Held, ScaleUnderTest
from shared_calc.coefficient_record import decode


@dataclass(frozen=True)
class CheckedMass:
    """What a check mass showed."""

    load_g: Decimal
    indication_g: Decimal
    """as the scale shows it after zero-setting"""
    error_g: Fraction
    """before rounding: the point of the control chart"""
    limit_g: Fraction


@dataclass(frozen=True)
class DailyCheck:
    """Plan: zero, then each mass. The zero that the user has set stays as it is."""

    held: Held
    masses: tuple[Load, ...]

    @property
    def full_g(self) -> Decimal:
        """The heaviest mass."""
        return max(load.load_g for load in self.masses)

    def steps(self) -> Procedure[tuple[CheckedMass, ...]]:
        """Weigh each mass once. Raises ProcedureError where the scale has no coefficients."""
        yield Stage("daily check")
        data = yield ReadCoefficients()
        if not isinstance(data, bytes) or not data:
            raise ProcedureError("the scale has no coefficients", "calibrate it first")
        scale = ScaleUnderTest(decode(data), self.held)
        yield from scale.set_zero()
        checked, before = [], NOTHING
        for load in self.masses:
            still = yield from scale.weigh(load, before)
            before = load
            error_g, limit_g = scale.error_g(load.load_g, still), scale.limit_g(load.load_g)
            checked.append(CheckedMass(load.load_g, scale.shown_g(still), error_g, limit_g))
            source = self.held.limits.source
            yield Outcome(f"error at {load.load_g} g", error_g, limit_g, source, load_g=load.load_g)
        return tuple(checked)

    def passed(self, outcomes: Sequence[Outcome]) -> bool:
        """Is every error within its limit?"""
        return all(outcome.passes for outcome in outcomes)
