"""A scale as a test sees it: what its coefficients make of counts, and what it is held against."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from scalewright.errors import MeasurementError
from scalewright.handbook_44 import Handbook44Class
from scalewright.own_tolerance import OwnTolerance
from scalewright.procedures.requests import (
    MIDDLE,
    NOTHING,
    Expected,
    Load,
    Place,
    PlaceLoad,
    StillReading,
    TakeStillReading,
)
from scalewright.procedures.run import Procedure
from scalewright.procedures.warmth import at_reference
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.rounding import format_divisions, round_to_division

Limits = AccuracyClass | Handbook44Class | OwnTolerance

# A right load gives what the scale is expected to show within a tenth, or 20 d where that is more: a scale that is
# farther off needs a reason to be believed; another piece of a mass set is farther off (common practice: 1, 2, 5).
_PART_OF_LOAD = 10
_DIVISIONS = 20


@dataclass(frozen=True)
class Held:
    """What a scale is held against, and how it is read."""

    limits: Limits
    in_service: bool = False
    """the limits for a scale in use, where the standard has such (OIML R 76-1:2006, 3.5.2: twice those of the first)"""
    readings: int = 16
    """raw counts averaged at each load"""


class ScaleUnderTest:
    """A scale with the coefficients it weighs with now."""

    def __init__(self, record: CoefficientRecord, held: Held) -> None:
        self.record = record
        self.held = held
        self.zero_g = Fraction(0)
        """what it would show without load, before rounding; every test takes it anew"""

    @property
    def division_g(self) -> Fraction:
        """The division d."""
        return division_of(self.record)

    @property
    def e_g(self) -> Fraction:
        """The verification interval e; d where the limits know none."""
        limits = self.held.limits
        return limits.e_g if isinstance(limits, AccuracyClass) else self.division_g

    @property
    def r76(self) -> AccuracyClass:
        """The class by which tilt, time and temperature are judged; III with e = d where the limits are no class."""
        limits = self.held.limits
        return limits if isinstance(limits, AccuracyClass) else AccuracyClass("III", self.division_g)

    @property
    def max_g(self) -> Fraction:
        """Max, the maximum capacity."""
        return int(self.record.max_divisions) * self.division_g

    def limit_g(self, load_g: Decimal | Fraction) -> Fraction:
        """Return the maximum permissible error at a load. Raises InputError where there is none.

        It is that of the nearest whole number of e, of two equally near the lower: reference masses of 2000.004 g test
        the scale at 2000 g.
        """
        whole_g = ceil(Fraction(load_g) / self.e_g - Fraction(1, 2)) * self.e_g
        return self.held.limits.permissible_error_g(whole_g, in_service=self.held.in_service)

    def fine_g(self, still: StillReading) -> Fraction:
        """Return the indication before it is rounded, zero not taken off.

        Raises MeasurementError where the curve does not reach that far, or the temperature cannot be compensated for.
        """
        return Fraction(self._fine(still), 1 << self.record.curve.binary_exponent) * self.division_g

    def shown_g(self, still: StillReading) -> Decimal:
        """Return the indication as the scale shows it after zero-setting, rounded to its division."""
        curve = self.record.curve
        zero = round(self.zero_g / self.division_g * (1 << curve.binary_exponent))
        divisions = round_to_division(self._fine(still) - zero, curve.binary_exponent)
        return Decimal(format_divisions(divisions, self.record.mantissa, self.record.power_of_ten))

    def error_g(self, load_g: Decimal, still: StillReading) -> Fraction:
        """Return the error of indication before rounding, zero taken off (OIML R 76-1:2006, 3.5.3.2 and A.4.4.3)."""
        return self.fine_g(still) - self.zero_g - Fraction(load_g)

    def set_zero(self) -> Procedure[StillReading]:
        """Clear the pan and take its indication as zero."""
        yield PlaceLoad.of(NOTHING)
        return (yield from self.take_zero())

    def take_zero(self) -> Procedure[StillReading]:
        """Take the indication of the pan, which is clear already, as zero."""
        still = yield from self.read(NOTHING, NOTHING)
        self.zero_g = self.fine_g(still)
        return still

    def weigh(self, load: Load, before: Load, at: Place = MIDDLE) -> Procedure[StillReading]:
        """Place a load and return its reading. before: what was on till now, to tell that something changed."""
        yield PlaceLoad.of(load, at)
        return (yield from self.read(load, before))

    def read(self, load: Load, before: Load) -> Procedure[StillReading]:
        """Return the reading of the load that is on already."""
        still = yield TakeStillReading(self.held.readings, self.expected(load.load_g, before.load_g))
        assert isinstance(still, StillReading)
        return still

    def expected(self, load_g: Decimal, before_g: Decimal) -> Expected | None:
        """Return what counts the load must give; None beyond the range of the curve."""
        counts = counts_at(self.record, Fraction(load_g) + self.zero_g)
        if counts is None:
            return None
        within_g = max(Fraction(load_g) / _PART_OF_LOAD, _DIVISIONS * self.division_g)
        step_g = abs(Fraction(load_g) - Fraction(before_g))
        per_g = self._counts_per_g()
        within = min(within_g, step_g / 2 if step_g else within_g) * abs(per_g)
        return Expected(load_g, counts, max(1, round(within)), Decimal(f"{float(per_g):.6g}"))

    def _fine(self, still: StillReading) -> int:
        counts = round(at_reference(still.mean_counts, still.temperature_c, self.record.compensation))
        if not self.record.curve.covers(counts):
            raise MeasurementError(f"{counts} counts are beyond what the coefficients cover", "adjust the scale first")
        return int(self.record.curve.evaluate(counts))

    def _counts_per_g(self) -> Fraction:
        curve = self.record.curve
        rise = curve.evaluate(curve.centre + curve.half) - curve.evaluate(curve.centre - curve.half)
        return Fraction(2 * curve.half * (1 << curve.binary_exponent), rise) / self.division_g


def division_of(record: CoefficientRecord) -> Fraction:
    """Return the division d in grams."""
    return Fraction(record.mantissa * Fraction(10) ** record.power_of_ten)


def counts_at(record: CoefficientRecord, fine_g: Fraction) -> int | None:
    """Return the counts that give an indication, by halving the curve's range; None beyond it."""
    curve = record.curve
    wanted = round(fine_g / division_of(record) * (1 << curve.binary_exponent))
    low, high = curve.centre - curve.half, curve.centre + curve.half
    ends = sorted((curve.evaluate(low), curve.evaluate(high)))
    if not ends[0] <= wanted <= ends[1]:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if (curve.evaluate(middle) < wanted) == curve.rises else (low, middle)
    return int(high)
