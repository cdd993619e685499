"""The units people weigh in, as exact fractions of the gram.

A trade unit that differs from place to place carries the place it belongs to; asked for by its bare symbol it is
refused where more than one place has it. "From memory" marks what was not read in a source.
"""

from dataclasses import dataclass
from fractions import Fraction

from scalewright.errors import InputError


@dataclass(frozen=True)
class Unit:
    """A unit of mass."""

    name: str
    symbol: str
    grams: Fraction
    """how many grams it is, exactly; where a law or custom rounds, the rounded figure"""
    source: str
    jurisdiction: str = ""
    """where it holds; empty: the same everywhere"""

    def to_grams(self, value: Fraction) -> Fraction:
        """Return a mass stated in this unit, in grams."""
        return value * self.grams

    def from_grams(self, value_g: Fraction) -> Fraction:
        """Return a mass in grams, in this unit."""
        return value_g / self.grams


_POUND = Fraction(45359237, 100_000)
_GRAIN = _POUND / 7000
_TROY_OUNCE = 480 * _GRAIN
_CATTY_HK = Fraction(60478982, 100_000)
_STANDARD_GRAVITY = Fraction(980665, 100_000)  # m/s2, 3rd CGPM 1901
_FOOT = Fraction(3048, 10_000)  # m

_YARD_AND_POUND = "international yard and pound agreement, 1959"
_CAP_68 = "Weights and Measures Ordinance, Cap. 68, schedule 1"
_BY_REPORT = "as cited in encyclopaedias"

UNITS = (
    Unit("kilogram", "kg", Fraction(1000), "SI"),
    Unit("tonne", "t", Fraction(1_000_000), "accepted for use with the SI"),
    Unit("metric carat", "ct", Fraction(1, 5), "4th CGPM, 1907"),
    Unit("pound avoirdupois", "lb", _POUND, _YARD_AND_POUND),
    Unit("ounce avoirdupois", "oz", _POUND / 16, _YARD_AND_POUND),
    Unit("dram avoirdupois", "dr", _POUND / 256, _YARD_AND_POUND),
    Unit("grain", "gr", _GRAIN, _YARD_AND_POUND),
    Unit("ounce troy", "oz t", _TROY_OUNCE, "480 grains"),
    Unit("pennyweight", "dwt", _TROY_OUNCE / 20, "24 grains"),
    Unit("pound troy", "lb t", 12 * _TROY_OUNCE, "5760 grains"),
    Unit("stone", "st", 14 * _POUND, "14 lb", "United Kingdom"),
    Unit("quarter (UK)", "qr", 28 * _POUND, "28 lb", "United Kingdom"),
    Unit("hundredweight (long)", "cwt", 112 * _POUND, "112 lb", "United Kingdom"),
    Unit("hundredweight (short)", "cwt US", 100 * _POUND, "100 lb, from memory", "United States"),
    Unit("ton (long)", "ton UK", 2240 * _POUND, "2240 lb", "United Kingdom"),
    Unit("ton (short)", "ton US", 2000 * _POUND, "2000 lb, from memory", "United States"),
    Unit("catty (Hong Kong)", "kan", _CATTY_HK, _CAP_68, "Hong Kong"),
    Unit("tael (Hong Kong)", "leung", _CATTY_HK / 16, _CAP_68, "Hong Kong"),
    Unit("mace (Hong Kong)", "tsin", _CATTY_HK / 160, _CAP_68, "Hong Kong"),
    Unit("candareen (Hong Kong)", "fan", _CATTY_HK / 1600, _CAP_68, "Hong Kong"),
    Unit("picul (Hong Kong)", "tam", 100 * _CATTY_HK, _CAP_68, "Hong Kong"),
    Unit("catty (Malaysia)", "kati", Fraction(60479, 100), f"Weights and Measures Act 1972, {_BY_REPORT}", "Malaysia"),
    Unit("catty (Singapore)", "kati", Fraction(6048, 10), f"Weights and Measures Act, {_BY_REPORT}", "Singapore"),
    Unit("catty (Taiwan)", "tai kin", Fraction(600), _BY_REPORT, "Taiwan"),
    Unit("tael (Taiwan)", "liang", Fraction(75, 2), _BY_REPORT, "Taiwan"),
    Unit("catty (Thailand standard)", "catty", Fraction(600), f"Act B.E. 2542, {_BY_REPORT}", "Thailand"),
    Unit("jin (mainland China)", "shi jin", Fraction(500), _BY_REPORT, "mainland China"),
    Unit("liang (mainland China)", "liang", Fraction(50), _BY_REPORT, "mainland China"),
    Unit("qian (mainland China)", "qian", Fraction(5), "from memory", "mainland China"),
    Unit("kin (Japan)", "kin", Fraction(600), _BY_REPORT, "Japan"),
    Unit("momme", "mom", Fraction(15, 4), _BY_REPORT, "Japan"),
    Unit("geun (Korea; meat)", "geun", Fraction(600), _BY_REPORT, "Korea"),
    Unit("don (Korea)", "don", Fraction(15, 4), "from memory", "Korea"),
    Unit("tola", "tola", 180 * _GRAIN, "180 grains", "South Asia"),
    Unit("baht weight (Thai gold bar)", "baht", Fraction(15244, 1000), "from memory", "Thailand"),
    Unit("tical (Myanmar kyattha)", "ks", Fraction(163293, 10_000), "from memory", "Myanmar"),
    Unit("slug", "slug", _POUND * _STANDARD_GRAVITY / _FOOT, "1 lbf s2/ft"),
    Unit("newton at standard gravity", "N", 1000 / _STANDARD_GRAVITY, "weight of the mass at 9.80665 m/s2"),
    Unit("gram", "g", Fraction(1), "SI"),
)


def find_unit(text: str) -> Unit:
    """Return the unit of that name, or of that symbol where only one has it. Raises InputError with the choice."""
    for unit in UNITS:
        if unit.name == text:
            return unit
    found = [unit for unit in UNITS if unit.symbol == text]
    if len(found) == 1:
        return found[0]
    if found:
        choice = " or ".join(repr(unit.name) for unit in found)
        raise InputError(f"unit {text!r} differs from place to place; expected {choice}")
    raise InputError(f"unit {text!r} is not known; expected one of {', '.join(unit.symbol for unit in UNITS)}")
