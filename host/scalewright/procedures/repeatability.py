"""Repeatability: the same load put on again and again."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.analysis.error_of_indication import Repeatability
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import NOTHING, Load
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest


@dataclass(frozen=True)
class Series:
    """The weighings of one load."""

    load_g: Decimal
    indications_g: tuple[Fraction, ...]
    """before rounding, each from the zero before it"""
    limit_g: Fraction
    """how far the largest may be from the smallest"""

    @property
    def spread_g(self) -> Fraction:
        """The largest indication less the smallest."""
        return max(self.indications_g) - min(self.indications_g)

    @property
    def s_g(self) -> float:
        """Standard deviation of one indication: u of repeatability (EURAMET cg-18 v4.0, 7.1.1, from memory)."""
        return Repeatability.of(tuple(map(float, self.indications_g))).s_g


@dataclass(frozen=True)
class RepeatabilityTest:
    """Each load `times` in a row, the pan cleared and zero taken between: at half of Max and near Max.

    The largest indication is no more than the maximum permissible error from the smallest, and no single weighing is
    off by more than that (OIML R 76-1:2006, 3.6, 3.6.1 and A.4.10, from memory: ten weighings below Max 1 t). The
    standard deviation is for the uncertainty; five weighings do for it (cg-18, 5.1, from memory).
    """

    title: ClassVar[str] = "repeatability"
    loads: tuple[Load, ...]
    times: int = 10

    def steps(self, scale: ScaleUnderTest) -> Procedure[tuple[Series, ...]]:
        """Weigh each load so many times."""
        series = []
        for load in self.loads:
            series.append((yield from weigh_repeatedly(scale, load, self.times)))
        return tuple(series)


def weigh_repeatedly(scale: ScaleUnderTest, load: Load, times: int) -> Procedure[Series]:
    """Put a load on so many times and tell the error of each weighing, then the spread."""
    limit_g = scale.limit_g(load.load_g)
    indications: list[Fraction] = []
    for number in range(1, times + 1):
        yield from scale.set_zero()
        error_g = scale.error_g(load.load_g, (yield from scale.weigh(load, NOTHING)))
        indications.append(error_g + Fraction(load.load_g))
        yield Outcome(f"error at {load.load_g} g, weighing {number}", error_g, limit_g, "OIML R 76-1:2006, 3.6")
    series = Series(load.load_g, tuple(indications), limit_g)
    yield Outcome(f"spread at {load.load_g} g", series.spread_g, limit_g, "OIML R 76-1:2006, 3.6.1")
    return series
