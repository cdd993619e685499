"""The indication as it is shown: in grams as it comes, in the device's own unit as the device has it, or in another."""

from decimal import ROUND_HALF_EVEN, Decimal

from scalewright.units import Unit
from shared_calc import display_unit
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.rounding import format_divisions

OF_THE_DEVICE = display_unit.UNITS.keys() - {"g"}
"""Symbols of the units that the device converts itself, from the value before it is rounded."""


def is_of_the_device(unit: Unit) -> bool:
    """Does the device show this unit itself?"""
    return unit.symbol in OF_THE_DEVICE


def in_unit(indication_g: Decimal, unit: Unit, record: CoefficientRecord) -> str:
    """Return an indication in a unit that the device does not know, to a division that is not finer than d there.

    It is converted from what is shown in grams, so it may differ by a division from what an own conversion would give.
    """
    shown = display_unit.unit_of_ratio(unit.symbol, unit.grams.numerator, unit.grams.denominator, record)
    divisions = indication_g.scaleb(-record.power_of_ten) / record.mantissa
    fine = int(divisions) << record.curve.binary_exponent
    return str(format_divisions(shown.divisions(fine), shown.mantissa, shown.power_of_ten))


def in_pieces(indication_g: Decimal, piece_g: Decimal) -> tuple[int, Decimal]:
    """Return how many pieces of this mass come nearest to an indication, and what is left over, in grams."""
    pieces = int((indication_g / piece_g).to_integral_value(ROUND_HALF_EVEN))
    return pieces, indication_g - pieces * piece_g
