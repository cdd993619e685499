"""Masses to hold a scale against: weights of a class, and what people have instead: coins, water, a borrowed scale.

Every one is a value with a standard uncertainty (k = 1), the components it is made of, and where it comes from.
"""

import os
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import hypot, sqrt

from scalewright.analysis.buoyancy import conventional_mass
from scalewright.analysis.water import TEMPERATURE_RANGE_C, water_density_kg_m3
from scalewright.errors import InputError
from scalewright.table_file import read_table
from scalewright.tolerances import finest_class
from scalewright.weight_classes import WeightClass

COIN_TOLERANCE = Decimal("0.03")
"""how far a coin in use may be from its nominal mass, as a share of it (common practice: 1 to 3 %)"""
U_WATER_KG_M3 = {"distilled": 0.01, "tap": 0.3}
"""standard uncertainty of the density for what is dissolved in the water (common practice)"""
GLASS_PER_K = 3e-5
"""a glass vessel's volume changes by this much at most per kelvin away from 20 °C, where it was marked (from memory)"""
WORN_COINS = "coins wear and differ: a rough check only, never an adjustment; whoever uses them for one must say so"
WATER_SAFETY = "keep water off electronics and mains leads, wipe up spills, and lift no more than is safe"
_COINS = os.path.join(os.path.dirname(__file__), "tables", "coins.csv")


@dataclass(frozen=True)
class Component:
    """One reason why a mass is not exactly known."""

    name: str
    u_g: float
    """its standard uncertainty as an effect on the mass"""


@dataclass(frozen=True)
class ReferenceMass:
    """A mass to hold a scale against."""

    name: str
    value_g: Decimal
    """conventional mass: what a scale adjusted with OIML R 111 weights shows in air of 1.2 kg/m3"""
    u_g: Decimal
    """standard uncertainty"""
    density_kg_m3: float
    u_density_kg_m3: float
    source: str
    components: tuple[Component, ...]
    largest_error_g: Decimal
    """what it may be wrong by: the class's maximum permissible error, else U = 2 u"""
    caution: str = ""

    @property
    def supports(self) -> str:
        """What it can test at best, in words."""
        best = finest_class(Fraction(self.value_g), Fraction(self.largest_error_g)) if self.value_g > 0 else None
        if best is None:
            return "too uncertain for any OIML R 76 class: a rough check only"
        n = Fraction(self.value_g) / best.e_g
        return (
            f"as the full load it can test a scale of class {best.name} with e = {float(best.e_g):g} g ({int(n)} e) "
            "at best: its error may be a third of the limit (OIML R 76-1:2006, 3.7.1)"
        )


def class_weight(weight_class: WeightClass, nominal_g: Decimal) -> ReferenceMass:
    """Return a weight of an OIML R 111 class, taken at its nominal value.

    The uncertainty is the maximum permissible error over sqrt 3 (EURAMET cg-18 v4.0, 7.1.2, from memory).
    """
    limit_g = weight_class.permissible_error_g(Fraction(nominal_g))
    component = Component(f"maximum permissible error of class {weight_class.name}", float(limit_g) / sqrt(3))
    return _mass(
        f"{weight_class.name} weight {nominal_g} g",
        nominal_g,
        (component,),
        (7950, 70),
        f"{weight_class.source}; steel of 7950 kg/m3 +- 140 (k = 2; table B.7, from memory)",
        largest_error_g=Decimal(limit_g.numerator) / limit_g.denominator,
    )


def coin_names() -> list[str]:
    """Return the coins there are, by the names `coins` takes."""
    return [row.text("coin") for row in read_table(_COINS, ("coin",)).rows]


def coins(name: str, number: int = 1) -> ReferenceMass:
    """Return so many coins of one kind. They wear alike, so their uncertainties add up.

    Raises InputError where the coin is not in the table.
    """
    rows = {row.text("coin"): row for row in read_table(_COINS, ("coin", "mass_g", "rule", "status")).rows}
    if name not in rows:
        raise InputError(f"coin {name!r} is not in the table; expected one of {', '.join(rows)}")
    if number < 1:
        raise InputError(f"{number} coins; expected a whole number from 1")
    value_g = number * rows[name].number("mass_g")
    wear = Component(f"wear and making, {COIN_TOLERANCE:%} at most", float(value_g * COIN_TOLERANCE) / sqrt(3))
    source = f"mint's nominal mass, {rows[name].text('status')}; uncertainty by common practice"
    return _mass(f"{number} x {name}", value_g, (wear,), (8000, 500), source, caution=WORN_COINS)


def water(
    volume_ml: float, u_volume_ml: float, temperature_c: float, u_temperature_c: float = 1.0, purity: str = "tap"
) -> ReferenceMass:
    """Return a volume of water in a vessel whose own mass is tared or taken off. Raises InputError outside 0 to 40 °C.

    u_volume_ml: standard uncertainty of the volume, from the vessel's marking and the reading of it. purity: tap or
    distilled. The value is the conventional mass, about 0.1 % below the mass: air carries water more than a weight.
    """
    if not (volume_ml > 0 and u_volume_ml > 0 and u_temperature_c >= 0 and purity in U_WATER_KG_M3):
        found = f"{volume_ml:g} mL of {purity} water, u = {u_volume_ml:g} mL and {u_temperature_c:g} K"
        raise InputError(f"{found}; expected amounts above 0, tap or distilled")
    density = water_density_kg_m3(temperature_c)
    mass_g = density * volume_ml / 1000
    components = (
        Component("volume", density * u_volume_ml / 1000),
        Component("temperature of the water", _by_temperature(temperature_c, u_temperature_c) * volume_ml / 1000),
        Component(f"what is dissolved in {purity} water", U_WATER_KG_M3[purity] * volume_ml / 1000),
        Component("glass vessel away from 20 °C", mass_g * GLASS_PER_K * abs(temperature_c - 20) / sqrt(3)),
    )
    value_g = conventional_mass(mass_g, density)
    return _mass(
        f"{volume_ml:g} mL of {purity} water at {temperature_c:g} °C",
        Decimal(value_g),
        components,
        (density, U_WATER_KG_M3[purity]),
        f"{density:.3f} kg/m3 (Tanaka et al. 2001): mass {mass_g:.6g} g, less {mass_g - value_g:.3g} g air buoyancy",
        caution=WATER_SAFETY,
    )


def _by_temperature(temperature_c: float, u_c: float) -> float:
    """Return the standard uncertainty of the density of water, in kg/m3, that comes from its temperature."""
    low, high = TEMPERATURE_RANGE_C
    below, above = max(temperature_c - u_c, low), min(temperature_c + u_c, high)
    return abs(water_density_kg_m3(above) - water_density_kg_m3(below)) / 2


def weighed_elsewhere(
    reading_g: Decimal,
    division_g: float,
    u_error_g: float,
    *,
    error_g: Decimal = Decimal(0),
    repeatability_g: float = 0.0,
    readings: int = 1,
    material: tuple[float, float] = (8000, 500),
) -> ReferenceMass:
    """Return whatever a borrowed scale has weighed: its reading less the error of indication it is known to have.

    error_g, u_error_g: from its certificate (U / k), or 0 and its limit over sqrt 3. repeatability_g: standard
    deviation of repeated weighings; readings: how many of them reading_g is the mean of. The division counts once at
    the load and once at zero (EURAMET cg-18 v4.0, 7.1, from memory). Raises InputError for amounts below 0.
    """
    if not (reading_g > 0 and division_g > 0 and u_error_g >= 0 and repeatability_g >= 0 and readings >= 1):
        raise InputError("a reading and division above 0 and uncertainties from 0 are expected of a borrowed scale")
    components = (
        Component("division of the borrowed scale, at zero and at the load", division_g / sqrt(6)),
        Component(f"repeatability, mean of {readings}", repeatability_g / sqrt(readings)),
        Component("error of indication of the borrowed scale", u_error_g),
    )
    return _mass(
        f"weighed elsewhere as {reading_g} g",
        reading_g - error_g,
        components,
        material,
        f"borrowed scale, d = {division_g:g} g, known error {error_g} g",
        caution="true only as long as nothing is added, lost or dried, and the borrowed scale was level and at rest",
    )


def _mass(
    name: str,
    value_g: Decimal,
    components: tuple[Component, ...],
    density: tuple[float, float],
    source: str,
    *,
    largest_error_g: Decimal | None = None,
    caution: str = "",
) -> ReferenceMass:
    """Return the mass, its uncertainty to three digits and a computed value to the same place."""
    u_g = Decimal(f"{hypot(*(component.u_g for component in components)):.2e}")
    last_place = Decimal(1).scaleb(u_g.adjusted() - 2)
    if value_g != value_g.quantize(last_place):
        value_g = value_g.quantize(last_place)
    limit_g = 2 * u_g if largest_error_g is None else largest_error_g
    return ReferenceMass(name, value_g, u_g, *density, source, components, limit_g, caution)
