"""How well zero and tare are set, and whether net loads are within their limits, by changeover points."""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.procedures.changeover import (
    Changeover,
    CorrectedError,
    find_changeover,
    indicate,
    small_weight,
    zero_display,
)
from scalewright.procedures.loads import directions, together
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import NOTHING, ClearZeroAndTare, Load, PlaceLoad, SetTare, SetZero
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

_SHARE_OF_E = Fraction(1, 4)
_NO_NET_LOAD_G = Decimal(0)


@dataclass(frozen=True)
class ZeroSettingTest:
    """Zero is set just below a changeover point, where a coarse zero would be farthest off; how far off is it?

    At most 0.25 e (OIML R 76-1:2006, 4.5.2 and A.4.2.3, from memory).
    """

    title: ClassVar[str] = "accuracy of zero-setting"

    def steps(self, scale: ScaleUnderTest) -> Procedure[Changeover]:
        """Find the changeover point of the empty scale, set zero a step below it, and find it again."""
        yield from zero_display(scale)
        _, at = yield from _set_below_changeover(scale, NOTHING, SetZero())
        yield Outcome("error of zero", at.error_g, _SHARE_OF_E * scale.e_g, "OIML R 76-1:2006, 4.5.2")
        yield ClearZeroAndTare()
        return at


@dataclass(frozen=True)
class TareResult:
    """How well the tare was set, and the net loads."""

    setting: Changeover
    steps: tuple[CorrectedError, ...]
    """errors of the net indications, corrected for that of the setting"""


@dataclass(frozen=True)
class TareTest:
    """A tare, and net loads on it: the tare is set to 0.25 e, and net loads are within the limits of such a load.

    Source: OIML R 76-1:2006, 4.6.3, 3.5.3.3 and A.4.6, from memory. The tare may be anything; about half of Max is
    usual there.
    """

    title: ClassVar[str] = "tare"
    tare: Load
    loads: tuple[Load, ...]
    """net"""

    def steps(self, scale: ScaleUnderTest) -> Procedure[TareResult]:
        """Set the tare just below a changeover point, then put the net loads beside it."""
        yield from zero_display(scale)
        yield SetZero()
        small_g, setting = yield from _set_below_changeover(scale, self.tare, SetTare())
        yield Outcome("error of tare setting", setting.error_g, _SHARE_OF_E * scale.e_g, "OIML R 76-1:2006, 4.6.3")
        steps = []
        for load, direction in zip(self.loads, directions([load.load_g for load in self.loads]), strict=True):
            both = replace(PlaceLoad.of(together(self.tare, load)), added_g=small_g)
            at = yield from find_changeover(scale, both, load.load_g)
            steps.append(CorrectedError(at, direction, at.error_g - setting.error_g, scale.limit_g(load.load_g)))
            yield steps[-1].outcome("net error", "OIML R 76-1:2006, 3.5.3.3")
        yield ClearZeroAndTare()
        return TareResult(setting, tuple(steps))


def _set_below_changeover(
    scale: ScaleUnderTest, load: Load, setting: SetZero | SetTare
) -> Procedure[tuple[Decimal, Changeover]]:
    """Return the small weights beside the load when zero or tare was set, and the changeover point from there."""
    placed = PlaceLoad.of(load)
    first = yield from find_changeover(scale, placed)
    small_g = first.added_g - small_weight(scale)
    below = replace(placed, added_g=small_g)
    yield from indicate(scale, below)
    yield setting
    return small_g, (yield from find_changeover(scale, below, _NO_NET_LOAD_G))
