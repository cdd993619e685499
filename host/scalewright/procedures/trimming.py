"""Trim: a further unit of a known design needs its zero and its full load only; its type's curve does the rest."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.analysis.type_curve import Trim, TrimLoad, TypeCurve
from scalewright.errors import InputError, ProcedureError
from scalewright.procedures.adjustment import store
from scalewright.procedures.requests import NOTHING, Load, PlaceLoad, StillReading, TakeStillReading
from scalewright.procedures.run import Procedure
from scalewright.procedures.warmth import at_reference
from shared_calc.temperature import Compensation

_RECTANGULAR = 12**0.5


@dataclass(frozen=True)
class Trimming:
    """What a trim ended in."""

    trim: Trim
    coefficients: bytes
    """the encoded coefficient record, as read back from the device"""


@dataclass(frozen=True)
class TypeCurveTrim:
    """Plan: mark zero and full load, then adjust the scale by its type's curve."""

    title: ClassVar[str] = "trim to the curve of its type"
    type_curve: TypeCurve
    division: tuple[int, int]
    """mantissa and power of ten: the division d in grams"""
    full: Load
    """the reference mass at or near Max"""
    readings: int

    @property
    def full_g(self) -> Decimal:
        """The heaviest load."""
        return self.full.load_g

    def steps(self, kept: Compensation | None) -> Procedure[Trimming]:
        """Mark, map and store.

        kept: the compensation for temperature that the device has. Raises ProcedureError where the loads make no
        scale, or the device does not keep what it was given.
        """
        zero = yield from _marked(NOTHING, self.readings, kept, None)
        full = yield from _marked(self.full, self.readings, kept, zero[1])
        try:
            trim = Trim(self.type_curve, zero[0], full[0])
            data = trim.coefficients(self.division, kept)
        except InputError as error:
            raise ProcedureError(error.message, error.remedy) from error
        yield from store(data)
        return Trimming(trim, data)


def _marked(
    load: Load, readings: int, compensation: Compensation | None, unlike: StillReading | None
) -> Procedure[tuple[TrimLoad, StillReading]]:
    """Return the load and its counts; their uncertainty: anywhere within the spread of the readings, evenly."""
    yield PlaceLoad.of(load)
    still = yield TakeStillReading(readings, unlike=unlike)
    assert isinstance(still, StillReading)
    counts = at_reference(still.mean_counts, still.temperature_c, compensation)
    u_load_g = float(load.u_load_g or 0)
    return TrimLoad(Fraction(load.load_g), counts, u_load_g, still.spread_counts / _RECTANGULAR), still
