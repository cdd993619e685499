"""Multi-point adjustment: known loads up and down, the exact fit, the coefficients into the device."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from math import lcm
from typing import ClassVar

from scalewright.errors import InputError, ProcedureError
from scalewright.procedures.loads import directions
from scalewright.procedures.requests import (
    Expected,
    Load,
    PlaceLoad,
    StillReading,
    StoreCoefficients,
    TakeStillReading,
)
from scalewright.procedures.run import Procedure
from scalewright.procedures.warmth import at_reference
from scalewright.quantities import Observation
from shared_calc.calibration import coverage, curve_through
from shared_calc.coefficient_record import CoefficientError, CoefficientRecord, encode
from shared_calc.curve import CurveError
from shared_calc.fit import FitError
from shared_calc.temperature import Compensation

_SHORT = Context(prec=6)


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


def division_from(d_g: Decimal, said: str) -> tuple[int, int]:
    """Return the division d as (mantissa, power of ten), for ScaleDesign.

    said: how the person gave it, for the message. Raises InputError where it is not 1, 2 or 5 times a power of ten
    (OIML R 76-1:2006, 3.2.1).
    """
    _, digits, exponent = d_g.normalize().as_tuple()
    if digits not in ((1,), (2,), (5,)) or not isinstance(exponent, int):
        raise InputError(f"{said}; expected 1, 2 or 5 times a power of ten (OIML R 76-1:2006, 3.2.1)")
    return digits[0], exponent


@dataclass(frozen=True)
class Adjustment:
    """What an adjustment ended in."""

    observations: tuple[Observation, ...]
    coefficients: bytes
    """the encoded coefficient record, as read back from the device"""


@dataclass(frozen=True)
class MultiPoint:
    """Plan: mark every load in turn, then adjust the scale to them.

    Two loads and degree 1 are the two-point adjustment. Rising and then falling loads average the hysteresis out.
    """

    title: ClassVar[str] = "adjustment"
    design: ScaleDesign
    loads: tuple[Load, ...]
    """in the order they are placed"""
    readings: int
    """raw counts averaged at each load"""
    forgets_compensation: bool = False
    """of temperature, which is kept otherwise"""

    @property
    def full_g(self) -> Decimal:
        """The heaviest load."""
        return max(load.load_g for load in self.loads)

    def steps(self, kept: Compensation | None) -> Procedure[Adjustment]:
        """Mark, fit and store.

        kept: the compensation for temperature that the device has. Raises ProcedureError where no faithful curve goes
        through the points, or the device does not keep what it was given.
        """
        observations = yield from mark(self.loads, self.readings)
        data = coefficients_for(self.design, observations, None if self.forgets_compensation else kept)
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


def mark(loads: Sequence[Load], readings: int) -> Procedure[tuple[Observation, ...]]:
    """Place every load in turn and return what the ADC showed."""
    observations: list[Observation] = []
    before: StillReading | None = None
    for load, direction in zip(loads, directions([load.load_g for load in loads]), strict=True):
        yield PlaceLoad.of(load)
        expected = _expected(load, observations)
        must_change = expected is None and bool(observations) and load.load_g != observations[-1].load_g
        still = yield TakeStillReading(readings, expected, before if must_change else None)
        assert isinstance(still, StillReading)
        counts, at_c = Decimal(still.counts_sum) / still.readings, still.temperature_c
        observations.append(Observation(load.load_g, counts, load.u_load_g, None, still.readings, direction, at_c))
        before = still
    return tuple(observations)


def _expected(load: Load, seen: Sequence[Observation]) -> Expected | None:
    """Return what a straight line through the lightest and the heaviest load so far leads to; None before there is one.

    A cell bends by far less than 5 % (OIML R 60-1:2021 allows 0.1 % in its coarsest class); where the step is small, a
    quarter of it tells the loads apart.
    """
    lightest, heaviest = (end(seen, key=lambda o: o.load_g, default=None) for end in (min, max))
    if lightest is None or heaviest is None or lightest.load_g == heaviest.load_g:
        return None
    per_g = (heaviest.counts - lightest.counts) / (heaviest.load_g - lightest.load_g)
    counts = lightest.counts + (load.load_g - lightest.load_g) * per_g
    step_g = abs(load.load_g - seen[-1].load_g) or load.load_g
    within_g = max(min(load.load_g / 20, step_g / 2), step_g / 4)
    return Expected(load.load_g, round(counts), max(1, round(within_g * abs(per_g))), per_g.normalize(_SHORT))
