"""Check of every step of the range: load, indication, error of indication, and the limit it is held against."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from scalewright.errors import MeasurementError
from scalewright.procedures.loads import directions
from scalewright.procedures.requests import PlaceLoad, StillReading, TakeStillReading
from scalewright.procedures.run import Procedure
from scalewright.procedures.warmth import at_reference
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord, decode
from shared_calc.rounding import format_divisions, round_to_division


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


def range_check(
    coefficients: bytes, limits: AccuracyClass, loads_g: Sequence[Decimal], readings: int
) -> Procedure[tuple[Step, ...]]:
    """Place each load and compare. coefficients: the encoded record the device weighs with."""
    record = decode(coefficients)
    steps = []
    for load_g, direction in zip(loads_g, directions(loads_g), strict=True):
        yield PlaceLoad(load_g)
        still = yield TakeStillReading(readings)
        assert isinstance(still, StillReading)
        steps.append(step(record, limits, load_g, direction, still))
    return tuple(steps)


def step(
    record: CoefficientRecord, limits: AccuracyClass, load_g: Decimal, direction: str, still: StillReading
) -> Step:
    """Return what the device's own curve makes of the readings, beside the limit.

    Raises MeasurementError where the curve does not reach that far, or the temperature cannot be compensated for.
    """
    curve = record.curve
    counts = round(at_reference(still.mean_counts, still.temperature_c, record.compensation))
    if not curve.covers(counts):
        raise MeasurementError(f"{load_g} g gives {counts} counts, which the coefficients do not cover", "adjust first")
    fine = curve.evaluate(counts)
    division_g = record.mantissa * Fraction(10) ** record.power_of_ten
    shown = format_divisions(round_to_division(fine, curve.binary_exponent), record.mantissa, record.power_of_ten)
    error_g = Fraction(fine, 1 << curve.binary_exponent) * division_g - Fraction(load_g)
    return Step(load_g, direction, Decimal(shown), error_g, limits.permissible_error_g(Fraction(load_g)))
