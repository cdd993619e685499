"""Warm-up: what the scale shows in its first half hour after it was cold."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import NOTHING, Load, PlaceLoad, Restart, WaitUntil
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

_MINUTES = (0, 5, 15, 30)
_MS_PER_MIN = 60_000
_COLD_S = 8 * 3600
_SOURCE = "OIML R 76-1:2006, 5.3.5 and A.5.2"


@dataclass(frozen=True)
class WarmUpPoint:
    """Empty and loaded, some time after it was switched on."""

    minute: Fraction
    """by the device's clock, when the empty scale was read"""
    zero_g: Fraction
    """the indication of the empty scale less that of the first, where zero was set"""
    load_g: Decimal
    error_g: Fraction
    """of the load, from the zero just before"""


@dataclass(frozen=True)
class WarmUpTest:
    """Plan: off until it is cold, then on: zero and a load at 0, 5, 15, 30 min (R 76-1:2006, A.5.2, from memory)."""

    title: ClassVar[str] = "warm-up"
    load: Load
    off_s: int = _COLD_S

    def steps(self, scale: ScaleUnderTest) -> Procedure[tuple[WarmUpPoint, ...]]:
        """Switch the empty scale off and on; its clock starts with it."""
        yield from scale.set_zero()
        yield Restart(self.off_s)
        points: list[WarmUpPoint] = []
        since_ms, first_g = 0, Fraction(0)
        for minute in _MINUTES:
            if minute:
                yield WaitUntil(minute * _MS_PER_MIN, since_ms)
            empty = yield from scale.take_zero()
            first_g = first_g if points else scale.zero_g
            loaded = yield from scale.weigh(self.load, NOTHING)
            error_g = scale.error_g(self.load.load_g, loaded)
            since_ms = loaded.time_ms
            points.append(
                WarmUpPoint(Fraction(empty.time_ms, _MS_PER_MIN), scale.zero_g - first_g, self.load.load_g, error_g)
            )
            if minute:
                yield self._outcome(scale, Decimal(0), minute, points[-1].zero_g)
            yield self._outcome(scale, self.load.load_g, minute, error_g)
            yield PlaceLoad.of(NOTHING)
        return tuple(points)

    def _outcome(self, scale: ScaleUnderTest, load_g: Decimal, minute: int, error_g: Fraction) -> Outcome:
        source = f"{_SOURCE}; {scale.held.limits.source}"
        return Outcome(f"error at {load_g} g, {minute} min after switch-on", error_g, scale.limit_g(load_g), source)
