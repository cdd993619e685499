"""Counts as they would be at the reference temperature, by the compensation that the device applies."""

from decimal import Decimal
from fractions import Fraction

from scalewright.errors import MeasurementError
from shared_calc.temperature import PARTS_OF_A_DEGREE, Compensation


def at_reference(counts: Fraction, temperature_c: Decimal | None, compensation: Compensation | None) -> Fraction:
    """Return counts, or a mean of them, as the device would correct them; without compensation as they are.

    Raises MeasurementError where the temperature is not known, or not one that the compensation was made for.
    """
    if compensation is None:
        return counts
    if not compensation.follow(None if temperature_c is None else round(temperature_c * PARTS_OF_A_DEGREE)):
        here = "not known" if temperature_c is None else f"{temperature_c} C"
        _, low_c, high_c, *_ = compensation.fields
        raise MeasurementError(
            f"the temperature of the scale is {here}; its compensation is for {low_c} to {high_c} C",
            "check the thermometer, let the scale come to room temperature, or calibrate without compensation",
        )
    whole = round(counts)
    return counts + Fraction(compensation.correct(whole)) - whole
