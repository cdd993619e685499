"""Out of level: what the scale shows when it stands aslant, empty and loaded."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.influence_limits import tilted_no_load_limit
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import NOTHING, Load, PlaceLoad, TiltScale
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

LEVEL = TiltScale(0, 0)


@dataclass(frozen=True)
class Tilted:
    """What one position did to the indication."""

    x_per_mille: int
    y_per_mille: int
    no_load_g: Fraction
    """change of the indication of the empty scale"""
    loaded: tuple[tuple[Decimal, Fraction], ...]
    """each load, and the change of its indication, zero set anew in either position"""


@dataclass(frozen=True)
class TiltTest:
    """Plan: lengthwise and transverse, either side down, no load and loads (OIML R 76-1:2006, 3.9.1, from memory).

    The pan is clear while the scale is tilted, so that nothing slides or falls.
    """

    title: ClassVar[str] = "out of level"
    loads: tuple[Load, ...]
    per_mille: int = 50
    """of a scale without a level indicator (3.9.1.1); with one, what takes its bubble to the mark"""

    def steps(self, scale: ScaleUnderTest) -> Procedure[tuple[Tilted, ...]]:
        """Take the scale in level as the reference, then every position."""
        yield LEVEL
        yield from scale.set_zero()
        level_g = scale.zero_g
        reference_g = yield from self._weigh_all(scale)
        results = []
        for x, y in ((0, 1), (0, -1), (1, 0), (-1, 0)):
            tilt = TiltScale(x * self.per_mille, y * self.per_mille)
            yield PlaceLoad.of(NOTHING)
            yield tilt
            results.append((yield from self._tilted(scale, tilt, level_g, reference_g)))
        yield PlaceLoad.of(NOTHING)
        yield LEVEL
        return tuple(results)

    def _tilted(
        self, scale: ScaleUnderTest, tilt: TiltScale, level_g: Fraction, reference_g: list[Fraction]
    ) -> Procedure[Tilted]:
        yield from scale.take_zero()
        limit = tilted_no_load_limit(scale.r76)
        no_load_g = scale.zero_g - level_g
        yield Outcome(f"change of zero, {side(tilt)}", no_load_g, limit.limit_g, limit.source)
        tilted_g = yield from self._weigh_all(scale)
        loaded = []
        for load, before_g, after_g in zip(self.loads, reference_g, tilted_g, strict=True):
            loaded.append((load.load_g, after_g - before_g))
            what = f"change at {load.load_g} g, {side(tilt)}"
            source = f"3.9.1; {scale.held.limits.source}"
            yield Outcome(what, after_g - before_g, scale.limit_g(load.load_g), source, load_g=load.load_g)
        return Tilted(tilt.x_per_mille, tilt.y_per_mille, no_load_g, tuple(loaded))

    def _weigh_all(self, scale: ScaleUnderTest) -> Procedure[list[Fraction]]:
        """Return the errors of the loads, from the zero of this position."""
        errors_g, before = [], NOTHING
        for load in self.loads:
            still = yield from scale.weigh(load, before)
            errors_g.append(scale.error_g(load.load_g, still))
            before = load
        return errors_g


def side(tilt: TiltScale) -> str:
    """Return which side is down."""
    if tilt.x_per_mille:
        return f"{'right' if tilt.x_per_mille > 0 else 'left'} side down"
    return f"{'back' if tilt.y_per_mille > 0 else 'front'} side down"
