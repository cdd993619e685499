"""The changeover point: errors finer than the division, where only the display is believed.

Small weights of d/10 are put on beside the load until the display goes one division up. Then the indication before
rounding was P = I + d/2 - dL, and E = P - L; less the error E0 near zero it is the corrected error Ec, which is held
against the limit (OIML R 76-1:2006, A.4.4.3, from memory, where e stands for d). It is found to a tenth of d.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.errors import MeasurementError
from scalewright.procedures.loads import directions
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import (
    ClearZeroAndTare,
    Indication,
    Load,
    PlaceLoad,
    SetZero,
    TakeIndication,
)
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

SMALL_PARTS = 10  # small weights of d/10
_NEAR_ZERO_PARTS = 100  # A.4.4.3: E0 is found at zero or near it, such as at 10 e
_MOST_STEPS = 15  # 1.5 d: by then even a sluggish display has gone up


@dataclass(frozen=True)
class Changeover:
    """Where the display went one division up."""

    load_g: Decimal
    indication_g: Decimal
    """I, with the load alone"""
    added_g: Decimal
    """dL, the small weights that it took"""
    division_g: Fraction

    @property
    def before_rounding_g(self) -> Fraction:
        """P, what the display rounded."""
        return Fraction(self.indication_g) + self.division_g / 2 - Fraction(self.added_g)

    @property
    def error_g(self) -> Fraction:
        """E, not corrected for the error at zero."""
        return self.before_rounding_g - Fraction(self.load_g)


@dataclass(frozen=True)
class CorrectedError:
    """The error at one load."""

    at: Changeover
    direction: str
    error_g: Fraction
    """Ec"""
    limit_g: Fraction

    def outcome(self, what: str, source: str) -> Outcome:
        """Return it as it is told while the test goes on."""
        load_g = self.at.load_g
        return Outcome(f"{what} at {load_g} g, {self.direction}", self.error_g, self.limit_g, source, load_g=load_g)


@dataclass(frozen=True)
class ChangeoverErrors:
    """Errors over the range, by the display alone."""

    near_zero: Changeover
    steps: tuple[CorrectedError, ...]


@dataclass(frozen=True)
class ChangeoverTest:
    """Progressive loads, each to its changeover point; the display is set to zero first."""

    title: ClassVar[str] = "errors by changeover points"
    loads: tuple[Load, ...]

    def steps(self, scale: ScaleUnderTest) -> Procedure[ChangeoverErrors]:
        """Find E0 near zero, then each error."""
        yield from zero_display(scale)
        yield SetZero()
        near_zero = yield from find_changeover(scale, PlaceLoad(_NEAR_ZERO_PARTS * small_weight(scale)))
        steps = []
        for load, direction in zip(self.loads, directions([load.load_g for load in self.loads]), strict=True):
            at = yield from find_changeover(scale, PlaceLoad.of(load))
            limit_g = scale.limit_g(load.load_g)
            steps.append(CorrectedError(at, direction, at.error_g - near_zero.error_g, limit_g))
            yield steps[-1].outcome("error", "OIML R 76-1:2006, A.4.4.3")
        yield ClearZeroAndTare()
        return ChangeoverErrors(near_zero, tuple(steps))


def small_weight(scale: ScaleUnderTest) -> Decimal:
    """Return a tenth of the division."""
    return Decimal(scale.record.mantissa).scaleb(scale.record.power_of_ten) / SMALL_PARTS


def zero_display(scale: ScaleUnderTest) -> Procedure[None]:
    """Clear the pan and wait until the display is at rest, so that it can be set to zero."""
    yield ClearZeroAndTare()
    yield from scale.set_zero()
    yield TakeIndication(scale.held.readings)


def indicate(scale: ScaleUnderTest, placed: PlaceLoad) -> Procedure[Decimal]:
    """Place a load and return what the display shows."""
    yield placed
    total_g = placed.load_g + placed.added_g
    shown = yield TakeIndication(scale.held.readings, scale.expected(total_g, total_g))
    assert isinstance(shown, Indication)
    return shown.indication_g


def find_changeover(scale: ScaleUnderTest, placed: PlaceLoad, net_g: Decimal | None = None) -> Procedure[Changeover]:
    """Put the load on, then small weights beside it until the display goes one division up.

    net_g: the load that the display should show, where a part of what is placed is zero or tare. Raises
    MeasurementError where the display does not go up.
    """
    first_g = yield from indicate(scale, placed)
    for steps in range(1, _MOST_STEPS + 1):
        added_g = steps * small_weight(scale)
        shown_g = yield from indicate(scale, replace(placed, added_g=placed.added_g + added_g))
        if shown_g > first_g:
            return Changeover(placed.load_g if net_g is None else net_g, first_g, added_g, scale.division_g)
    raise MeasurementError(
        f"at {placed.load_g} g the display stays at {first_g} g though {added_g} g more are on",
        "see what touches the pan, and use small weights of a tenth of d",
    )
