"""Multi-point adjustment: known loads up and down, the exact fit, the coefficients into the device."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import lcm

from scalewright.errors import ProcedureError
from scalewright.procedures.loads import directions
from scalewright.procedures.requests import PlaceLoad, StillReading, StoreCoefficients, TakeStillReading
from scalewright.procedures.run import Procedure
from scalewright.procedures.warmth import at_reference
from scalewright.quantities import Observation
from shared_calc.calibration import coverage, curve_through
from shared_calc.coefficient_record import CoefficientError, CoefficientRecord, encode
from shared_calc.curve import CurveError
from shared_calc.fit import FitError
from shared_calc.temperature import Compensation


@dataclass(frozen=True)
class ScaleDesign:
    """The scale that the coefficients are to make."""

    max_g: Decimal
    """Max, the maximum capacity"""
    division: tuple[int, int]
    """(mantissa, power of ten): the division d is mantissa * 10**power of ten grams"""
    degree: int
    """of the calibration curve, 1 to 3"""

    @property
    def division_g(self) -> Fraction:
        """The division d."""
        mantissa, power_of_ten = self.division
        return mantissa * Fraction(10) ** power_of_ten


@dataclass(frozen=True)
class Adjustment:
    """What an adjustment ended in."""

    observations: tuple[Observation, ...]
    coefficients: bytes
    """the encoded coefficient record, as read back from the device"""


def adjustment(
    design: ScaleDesign, loads_g: Sequence[Decimal], readings: int, compensation: Compensation | None = None
) -> Procedure[Adjustment]:
    """Mark every load in turn, then adjust the scale to them.

    loads_g: in the order they are placed; rising and then falling loads average the hysteresis out. readings: raw
    counts averaged at each load. compensation: for temperature, to be kept. Raises ProcedureError where no faithful
    curve goes through the points, or the device does not keep what it was given.
    """
    observations = yield from mark(loads_g, readings)
    data = coefficients_for(design, observations, compensation)
    yield from store(data)
    return Adjustment(observations, data)


def coefficients_for(
    design: ScaleDesign, observations: Sequence[Observation], compensation: Compensation | None = None
) -> bytes:
    """Return the encoded coefficient record that fits the observations. Raises ProcedureError or MeasurementError.

    All observations must be means of the same number of readings.
    """
    readings = observations[0].n
    sums = [round(at_reference(Fraction(o.counts), o.temperature_c, compensation) * readings) for o in observations]
    per_gram = lcm(*(Fraction(o.load_g).denominator for o in observations), design.division_g.denominator)
    loads = [int(Fraction(o.load_g) * per_gram) for o in observations]
    low, high = coverage(min(sums) // readings, max(sums) // readings)
    try:
        curve = curve_through(
            sums, readings, loads, [1] * len(loads), design.degree, int(design.division_g * per_gram), low, high
        )
        max_divisions = int(Fraction(design.max_g) / design.division_g)
        return bytes(encode(CoefficientRecord(curve, *design.division, max_divisions, compensation)))
    except (FitError, CurveError, CoefficientError) as error:
        raise ProcedureError(f"no curve can be stored: {error}", "check the loads and the wiring") from error


def store(data: bytes) -> Procedure[None]:
    """Put coefficients into the device. Raises ProcedureError where it does not keep exactly these."""
    kept = yield StoreCoefficients(data)
    if kept != data:
        raise ProcedureError("the coefficients read back differ from those sent", "repeat; if it recurs, do not use")


def mark(loads_g: Sequence[Decimal], readings: int) -> Procedure[tuple[Observation, ...]]:
    """Place every load in turn and return what the ADC showed."""
    observations = []
    for load_g, direction in zip(loads_g, directions(loads_g), strict=True):
        yield PlaceLoad(load_g)
        still = yield TakeStillReading(readings)
        assert isinstance(still, StillReading)
        counts = Decimal(still.counts_sum) / still.readings
        observations.append(
            Observation(load_g, counts, n=still.readings, direction=direction, temperature_c=still.temperature_c)
        )
    return tuple(observations)
