"""The units that the masses of one certificate are printed in: loads in kg or g, errors in g or mg."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from scalewright.certificates.document import ScaleFacts
from scalewright.certificates.rounding import Number, printed, to_place

NO_BREAK = "\N{NO-BREAK SPACE}"
_POWER = {"kg": 3, "g": 0, "mg": -3}
_LOADS_IN_KG_FROM_G = 10_000
_ERRORS_IN_MG_BELOW_G = Decimal("0.01")


@dataclass(frozen=True)
class PrintUnits:
    """Two units, and the exact steps from grams to them."""

    load_symbol: str
    error_symbol: str
    finest_g: Decimal
    """a hundredth of the division: the place of figures that have no uncertainty of their own"""

    @classmethod
    def of(cls, scale: ScaleFacts) -> "PrintUnits":
        """Return the units that keep the digits of this scale short."""
        load = "kg" if scale.max_g >= _LOADS_IN_KG_FROM_G else "g"
        error = "mg" if scale.division_g < _ERRORS_IN_MG_BELOW_G else "g"
        return cls(load, error, Decimal(1).scaleb(scale.division_g.adjusted() - 2))

    @property
    def load_power(self) -> int:
        """The power of ten in grams that loads are printed in."""
        return _POWER[self.load_symbol]

    def load(self, value_g: Decimal) -> Decimal:
        """Return a load as it is written, in its unit: every digit, no trailing zero."""
        value = value_g.scaleb(-self.load_power).normalize()
        return value if int(value.as_tuple().exponent) < 0 else value.quantize(Decimal(1))

    def error(self, value_g: Number) -> Fraction:
        """Return an error, an uncertainty or a limit in the unit of errors, exact."""
        return Fraction(value_g) / Fraction(10) ** _POWER[self.error_symbol]

    def fine_error(self, value_g: Fraction) -> Decimal:
        """Return an error that has no uncertainty of its own, to a hundredth of the division."""
        return to_place(self.error(value_g), self.finest_g.scaleb(-_POWER[self.error_symbol]))

    def indication(self, value_g: Fraction, u: Decimal) -> Decimal:
        """Return an indication in the unit of loads, to the place of an uncertainty in the unit of errors."""
        steps = _POWER[self.error_symbol] - self.load_power
        return to_place(value_g / Fraction(10) ** self.load_power, u.scaleb(steps))

    def load_in_g(self, value: Decimal) -> Decimal:
        """Return a figure in the unit of loads, in grams, to its place."""
        return value.scaleb(self.load_power)

    def error_in_g(self, value: Decimal) -> Decimal:
        """Return a figure in the unit of errors, in grams, to its place."""
        return value.scaleb(_POWER[self.error_symbol])

    def with_load_unit(self, value_g: Decimal) -> str:
        return f"{printed(self.load(value_g))}{NO_BREAK}{self.load_symbol}"

    def with_error_unit(self, value_g: Decimal) -> str:
        return f"{value_g.scaleb(-_POWER[self.error_symbol]).normalize():f}{NO_BREAK}{self.error_symbol}"
