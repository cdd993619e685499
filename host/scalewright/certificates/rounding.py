"""Numbers as a certificate prints them: the uncertainty to two significant digits, the value to the same place.

Source: JCGM 100:2008, 7.2.6. It says that rounding up may be right (10.47 becomes 11) and that common sense should
prevail (28.05 becomes 28), but not where one ends and the other begins. Here an uncertainty is rounded to the nearest
two digits unless that would take more than 1 % off it; then it is rounded up. So a printed uncertainty is never more
than 1 % too small; EA-4/02 M:2022, 6.3 (from memory) allows 5 %. In the middle between two, an uncertainty becomes the
larger and a value the even one (ISO 80000-1:2009, annex B, rule A, from memory).
"""

from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from math import floor, isfinite

from scalewright.errors import InputError

MOST_TAKEN_OFF = Fraction(1, 100)
_MINUS = "\N{MINUS SIGN}"
_WIDE = Context(prec=400)  # any float, and any decimal that a record holds, without a loss

Number = Decimal | Fraction | float | int


@dataclass(frozen=True)
class Rounded:
    """A value with its expanded uncertainty, to the same place."""

    value: Decimal
    expanded_u: Decimal


def rounded(value: Number, expanded_u: Number) -> Rounded:
    """Return both as they are printed. Raises InputError where the uncertainty is not a number above 0."""
    u = rounded_u(expanded_u)
    return Rounded(to_place(value, u), u)


def rounded_u(expanded_u: Number) -> Decimal:
    """Return an uncertainty to two significant digits, a trailing zero among them where it is one."""
    if not isfinite(expanded_u) or expanded_u <= 0:
        raise InputError(f"an uncertainty of {expanded_u}; expected a number above 0")
    exact = Fraction(expanded_u)
    place = Decimal(1).scaleb(_leading_place(exact) - 1)
    nearest = place * floor(exact / Fraction(place) + Fraction(1, 2))
    if exact - Fraction(nearest) > MOST_TAKEN_OFF * exact:
        nearest = _WIDE.add(nearest, place)
    has_three = nearest >= place.scaleb(2)  # 99.6 has become 100: two digits still
    return nearest.quantize(place.scaleb(1), context=_WIDE) if has_three else nearest


def to_place(value: Number, like: Decimal) -> Decimal:
    """Return a value rounded to the last place of another number; halves to even; never a negative zero."""
    exponent = int(like.as_tuple().exponent)
    units = round(Fraction(value) / Fraction(10) ** exponent)  # Fraction rounds halves to even
    return Decimal(units).scaleb(exponent, context=_WIDE)


def printed(value: Decimal, *, signed: bool = False) -> str:
    """Return the digits with a true minus sign; `signed` puts a plus before what is above 0. Never an exponent."""
    text = f"{value:+f}" if signed and value else f"{value:f}"
    return text.replace("-", _MINUS)


def _leading_place(exact: Fraction) -> int:
    """Return the power of ten of the first significant digit."""
    power = len(str(exact.numerator)) - len(str(exact.denominator))
    return power if exact >= Fraction(10) ** power else power - 1
