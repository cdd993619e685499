"""Eccentricity: the same load in several places on the pan."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from math import cos, pi, sin
from typing import ClassVar

from scalewright.analysis import error_of_indication
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import MIDDLE, NOTHING, Load, Place
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

ROUND = "round"
_FEW_SUPPORTS = 4
_TWO_DIGITS = Context(prec=2, rounding=ROUND_HALF_EVEN)
_CENTS = Decimal("0.01")
# Where a load stands that is spread over one quarter of the pan: the centre of that quarter (computed)
_QUARTER, _QUARTER_OF_ROUND = Decimal("0.5"), Decimal("0.42")  # 4 / (3 pi) of the radius
_QUARTERS = (("front left", -1, -1), ("back left", -1, 1), ("back right", 1, 1), ("front right", 1, -1))


@dataclass(frozen=True)
class Eccentricity:
    """What the load showed in each place."""

    load_g: Decimal
    places: tuple[Place, ...]
    """the first is the middle"""
    indications_g: tuple[Fraction, ...]
    """before rounding"""
    limit_g: Fraction
    """how far the error may be from zero in any place"""

    @property
    def differences_g(self) -> tuple[Fraction, ...]:
        """Each indication less that in the middle (EURAMET cg-18 v4.0, 7.1.1, from memory)."""
        return tuple(indication - self.indications_g[0] for indication in self.indications_g)

    @property
    def u_relative(self) -> float:
        """Relative standard uncertainty of an indication for a load that may stand anywhere (same clause)."""
        middle, *others = map(float, self.indications_g)
        return error_of_indication.eccentricity(float(self.load_g), middle, others)


@dataclass(frozen=True)
class EccentricityTest:
    """The load in the middle, then in each place; the error is within its limit everywhere.

    Source: OIML R 76-1:2006, 3.6.2 and A.4.7, from memory.
    """

    title: ClassVar[str] = "eccentricity"
    load: Load
    places: tuple[Place, ...]
    """beside the middle"""

    def steps(self, scale: ScaleUnderTest) -> Procedure[Eccentricity]:
        """Move the load over the pan; zero is taken before."""
        yield from scale.set_zero()
        load_g, places, before = self.load.load_g, (MIDDLE, *self.places), NOTHING
        indications = []
        for place in places:
            still = yield from scale.weigh(self.load, before, place)
            before = self.load
            error_g, limit_g = scale.error_g(load_g, still), scale.limit_g(load_g)
            indications.append(error_g + Fraction(load_g))
            yield Outcome(f"error at {load_g} g, {place.name}", error_g, limit_g, "OIML R 76-1:2006, 3.6.2")
        return Eccentricity(load_g, places, tuple(indications), scale.limit_g(load_g))


def load_for(max_g: Decimal, supports: int) -> Decimal:
    """Return about how heavy the load is, to two digits: Max/3 on up to four supports, Max/(n - 1) on more.

    Source: OIML R 76-1:2006, 3.6.2.1 and 3.6.2.2, from memory. Half of Max is the habit in places: common practice.
    """
    share = max_g / (3 if supports <= _FEW_SUPPORTS else supports - 1)
    rounded = _TWO_DIGITS.plus(share)
    return Decimal(int(rounded)) if rounded == int(rounded) else rounded


def places_for(pan: str, supports: int) -> tuple[Place, ...]:
    """Return where the load goes beside the middle, seen from the front.

    Up to four supports: each quarter of the pan. More: over each support (OIML R 76-1:2006, A.4.7.1 and A.4.7.2, from
    memory); these are taken to stand evenly in two rows, or in a circle under a round pan, starting at the front.
    """
    if supports <= _FEW_SUPPORTS:
        share = _QUARTER_OF_ROUND if pan == ROUND else _QUARTER
        return tuple(Place(name, x * share, y * share) for name, x, y in _QUARTERS)
    return tuple(_circle(supports) if pan == ROUND else _rows(supports // 2))


def _circle(supports: int) -> Iterator[Place]:
    for k in range(supports):
        angle = 2 * pi * k / supports
        x, y = (Decimal(f"{0.7 * share:.2f}") for share in (sin(angle), -cos(angle)))
        yield Place(f"over support {k + 1} of {supports}, anticlockwise from the front", x, y)


def _rows(columns: int) -> Iterator[Place]:
    """An odd support more stands in the middle."""
    for row, y in (("front", -_QUARTER), ("back", _QUARTER)):
        for k in range(columns):
            x = (Decimal(2 * k + 1) / columns - 1).quantize(_CENTS)
            yield Place(f"{row} row, {k + 1} of {columns} from the left", x, y)
