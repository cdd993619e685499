"""Check of every step of the range: load, indication, error of indication, and the limit it is held against."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.procedures.loads import directions
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import NOTHING, Load, StillReading
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest


@dataclass(frozen=True)
class Step:
    """One load of the check."""

    load_g: Decimal
    direction: str
    indication_g: Decimal
    """as the scale shows it, rounded to its division"""
    error_g: Fraction
    """error of indication before rounding: the display's rounding is removed first (OIML R 76-1:2006, 3.5.3.2)"""
    limit_g: Fraction
    """the maximum permissible error at this load"""

    @property
    def passes(self) -> bool:
        """Is the error within the limit?"""
        return abs(self.error_g) <= self.limit_g


@dataclass(frozen=True)
class RangeCheck:
    """Progressive loads, up and down as listed; zero is set first (OIML R 76-1:2006, A.4.4.1)."""

    title: ClassVar[str] = "errors over the range"
    loads: tuple[Load, ...]

    def steps(self, scale: ScaleUnderTest) -> Procedure[tuple[Step, ...]]:
        """Place each load and compare. Hysteresis and zero return are in the ways up and down."""
        zero = yield from scale.set_zero()
        steps: list[Step] = []
        before = NOTHING
        for load, direction in zip(self.loads, directions([load.load_g for load in self.loads]), strict=True):
            is_zero_again = not steps and not load.load_g
            still = zero if is_zero_again else (yield from scale.weigh(load, before))
            steps.append(step(scale, load.load_g, direction, still))
            before = load
            yield outcome(scale, steps[-1])
        return tuple(steps)


def step(scale: ScaleUnderTest, load_g: Decimal, direction: str, still: StillReading) -> Step:
    """Return what the device's own curve makes of the readings, beside the limit.

    Raises MeasurementError where the curve does not reach that far, or the temperature cannot be compensated for.
    """
    return Step(load_g, direction, scale.shown_g(still), scale.error_g(load_g, still), scale.limit_g(load_g))


def outcome(scale: ScaleUnderTest, step: Step) -> Outcome:
    """Return a step as it is told while the test goes on."""
    what = f"error at {step.load_g} g, {step.direction}"
    return Outcome(what, step.error_g, step.limit_g, scale.held.limits.source, load_g=step.load_g)


def hysteresis(steps: Sequence[Step]) -> dict[Decimal, Fraction]:
    """Return falling minus rising at each load that was reached both ways, by the errors before rounding.

    OIML R 76 has no limit for it alone: the error is within its limit either way (OIML R 76-1:2006, A.4.4.1).
    """
    rising = {step.load_g: step.error_g for step in steps if step.direction == "up"}
    falling = {step.load_g: step.error_g for step in steps if step.direction == "down"}
    return {load_g: error_g - rising[load_g] for load_g, error_g in falling.items() if load_g in rising}


def worst(steps: Sequence[Step]) -> Step:
    """Return the step that comes nearest to its limit, or is farthest beyond."""
    return max(steps, key=lambda step: abs(step.error_g) / step.limit_g)
