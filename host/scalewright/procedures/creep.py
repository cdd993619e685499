"""Creep: how the indication of a load changes while it stands, and how far the zero comes back after it."""

from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from scalewright.influence_limits import CREEP_MINUTES, Limit, creep_limit, zero_return_limit
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import NOTHING, Load, StillReading, WaitUntil
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

MS_PER_MIN = 60_000
_LATER_MIN, _END_MIN = CREEP_MINUTES
_MINUTES = (5, _LATER_MIN, _END_MIN)  # after the first reading (OIML R 76-1:2006, A.4.11.1, from memory)
_LATE_MIN = 2


@dataclass(frozen=True)
class Creep:
    """What stood, and how it crept."""

    changes_g: tuple[tuple[Fraction, Fraction], ...]
    """minutes since the first reading under the load, and the change of the indication until then"""
    zero_return_g: Fraction
    """the zero after the load less that before it"""


@dataclass(frozen=True)
class CreepTest:
    """Plan: a load near Max for half an hour, then the empty scale (OIML R 76-1:2006, 3.9.4 and A.4.11).

    A scale that fails may still keep the limit of 4 h: `scalewright creep` tells, from a recording.
    """

    title: ClassVar[str] = "creep and zero return"
    load: Load

    def steps(self, scale: ScaleUnderTest) -> Procedure[Creep]:
        """Let the load stand, timed by the device's own clock from the first reading under it."""
        yield from scale.set_zero()
        first = yield from scale.weigh(self.load, NOTHING)
        changes = {0: Fraction(0)}
        minutes = [Fraction(0)]
        for minute in _MINUTES:
            still = yield from self._stand(scale, first, minute)
            minutes.append(Fraction(still.time_ms - first.time_ms, MS_PER_MIN))
            changes[minute] = scale.fine_g(still) - scale.fine_g(first)
            yield self._outcome(f"change in {minute} min", changes[minute], creep_limit(scale.r76, 0))
        later_g = changes[_END_MIN] - changes[_LATER_MIN]
        what = f"change from {_LATER_MIN} to {_END_MIN} min"
        yield self._outcome(what, later_g, creep_limit(scale.r76, _LATER_MIN))
        after = yield from scale.weigh(NOTHING, self.load)
        back_g = scale.fine_g(after) - scale.zero_g
        yield self._outcome(f"zero return after {_END_MIN} min", back_g, zero_return_limit(scale.r76))
        return Creep(tuple(zip(minutes, changes.values(), strict=True)), back_g)

    def _stand(self, scale: ScaleUnderTest, first: StillReading, minute: int) -> Procedure[StillReading]:
        at_ms = first.time_ms + minute * MS_PER_MIN
        yield WaitUntil(at_ms, first.time_ms, at_ms + _LATE_MIN * MS_PER_MIN)
        return (yield from scale.read(self.load, self.load))

    def _outcome(self, what: str, change_g: Fraction, limit: Limit) -> Outcome:
        return Outcome(f"{what}, {self.load.load_g} g", change_g, limit.limit_g, limit.source)
