"""Discrimination: a small load that is put on gently shows."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.procedures.changeover import indicate, small_weight, zero_display
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import ClearZeroAndTare, Load, PlaceLoad, SetZero
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

_SMALL_WEIGHTS = 12  # of d/10: the ten of A.4.8.2, and two for what creeps meanwhile
_MORE_PARTS = 14  # 1.4 d


@dataclass(frozen=True)
class Discrimination:
    """What 1.4 d changed at one load."""

    load_g: Decimal
    initial_g: Decimal
    """I, with ten small weights beside the load"""
    final_g: Decimal
    """just above the changeover point to I - d, with 1.4 d more: I + d where all is well; I where it was not found"""


@dataclass(frozen=True)
class DiscriminationTest:
    """At each load 1.4 d more change the indication by a division: at Min, half of Max and Max.

    So that the display's rounding does not help, small weights of d/10 are put on with the load and taken off one by
    one until the indication is a division less; one is put back, then come the 1.4 d (OIML R 76-1:2006, 3.8.2.2 and
    A.4.8.2, from memory; for d of 5 mg and more).
    """

    title: ClassVar[str] = "discrimination"
    loads: tuple[Load, ...]

    def steps(self, scale: ScaleUnderTest) -> Procedure[tuple[Discrimination, ...]]:
        """Try each load."""
        yield from zero_display(scale)
        yield SetZero()
        found = []
        for load in self.loads:
            found.append((yield from _try(scale, load)))
            yield _outcome(scale, found[-1])
        yield ClearZeroAndTare()
        return tuple(found)


def _try(scale: ScaleUnderTest, load: Load) -> Procedure[Discrimination]:
    def shown(parts: int) -> Procedure[Decimal]:
        return indicate(scale, PlaceLoad(load.load_g, load.pieces, added_g=parts * small_weight(scale)))

    parts = _SMALL_WEIGHTS
    initial_g = yield from shown(parts)
    while (yield from shown(parts - 1)) >= initial_g:
        parts -= 1
        if not parts:
            return Discrimination(load.load_g, initial_g, initial_g)
    yield from shown(parts)
    return Discrimination(load.load_g, initial_g, (yield from shown(parts + _MORE_PARTS)))


def _outcome(scale: ScaleUnderTest, found: Discrimination) -> Outcome:
    missing_g = scale.division_g - Fraction(found.final_g - found.initial_g)
    what = f"change missing at {found.load_g} g for 1.4 d"
    return Outcome(what, max(missing_g, Fraction(0)), Fraction(0), "OIML R 76-1:2006, 3.8.2.2")
