"""Trim: a further unit of a known design needs its zero and its full load only; its type's curve does the rest."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from scalewright.analysis.type_curve import Trim, TrimLoad, TypeCurve
from scalewright.errors import InputError, ProcedureError
from scalewright.procedures.adjustment import store
from scalewright.procedures.requests import PlaceLoad, StillReading, TakeStillReading
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


def trimming(
    type_curve: TypeCurve,
    division: tuple[int, int],
    full_g: Decimal,
    u_full_g: float,
    readings: int,
    compensation: Compensation | None = None,
) -> Procedure[Trimming]:
    """Mark zero and full load, then adjust the scale by its type's curve.

    division: mantissa and power of ten, as d in grams. full_g, u_full_g: the reference mass at or near Max, and its
    standard uncertainty. compensation: for temperature, to be kept. Raises ProcedureError where the loads make no
    scale, or the device does not keep what it was given.
    """
    zero = yield from _marked(Decimal(0), 0.0, readings, compensation)
    full = yield from _marked(full_g, u_full_g, readings, compensation)
    try:
        trim = Trim(type_curve, zero, full)
        data = trim.coefficients(division, compensation)
    except InputError as error:
        raise ProcedureError(error.message, error.remedy) from error
    yield from store(data)
    return Trimming(trim, data)


def _marked(
    load_g: Decimal, u_load_g: float, readings: int, compensation: Compensation | None
) -> Procedure[TrimLoad]:
    """Return the load and its counts; their uncertainty: anywhere within the spread of the readings, evenly."""
    yield PlaceLoad(load_g)
    still = yield TakeStillReading(readings)
    assert isinstance(still, StillReading)
    counts = at_reference(still.mean_counts, still.temperature_c, compensation)
    return TrimLoad(Fraction(load_g), counts, u_load_g, still.spread_counts / _RECTANGULAR)
