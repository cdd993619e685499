"""The figures of a point as they are reported: in the units of print, rounded, the same digits in every form."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from scalewright.certificates.document import Point
from scalewright.certificates.print_units import PrintUnits
from scalewright.certificates.rounding import rounded


@dataclass(frozen=True)
class Figures:
    """One row of the errors of indication."""

    load: Decimal
    """in the unit of loads"""
    indication: Decimal
    """in the unit of loads, to the place of the uncertainty"""
    error: Decimal
    """in the unit of errors, to the place of the uncertainty"""
    expanded_u: Decimal
    """in the unit of errors, to two digits"""
    k: Decimal
    degrees_of_freedom: int | None
    """cut to a whole number; None from 1000 on, where it makes no difference"""
    limit: Decimal | None
    """in the unit of errors"""

    @classmethod
    def of(cls, point: Point, units: PrintUnits) -> "Figures":
        """Return what is reported of a point."""
        error = rounded(units.error(point.error_g), units.error(point.expanded_u_g))
        return cls(
            units.load(point.load_g),
            units.indication(point.indication_g, error.expanded_u),
            error.value,
            error.expanded_u,
            Decimal(f"{point.k:.2f}"),
            int(point.degrees_of_freedom) if point.degrees_of_freedom < 1000 else None,
            None if point.limit_g is None else decimal(units.error(point.limit_g)),
        )


def decimal(exact: Fraction) -> Decimal:
    """Return an exact figure with all its digits and no trailing zero; 28 digits where they never end."""
    value = (Decimal(exact.numerator) / exact.denominator).normalize()
    return value if int(value.as_tuple().exponent) < 0 else value.quantize(Decimal(1))
