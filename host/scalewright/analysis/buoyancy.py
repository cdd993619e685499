"""Air carries part of every load: from what a scale shows to conventional mass, and from that to mass.

Conventional mass is what a body of 8000 kg/m3 has that balances the load in air of 1.2 kg/m3 at 20 °C
(OIML D 28:2004; JCGM 101:2008, 9.3.1.2). A scale adjusted with R 111 weights in such air shows it.

    mass = reading * adjustment_air * present_air * conventional_to_mass

Each factor is a line of its own, can be left out, and is 1 under conventional conditions but for the last.
"""

from dataclasses import dataclass
from math import hypot

from scalewright.analysis.air import AirDensity
from scalewright.analysis.correction import Correction

AIR_KG_M3 = 1.2
DENSITY_KG_M3 = 8000.0
_AT_ONE = 1 - AIR_KG_M3 / DENSITY_KG_M3


@dataclass(frozen=True)
class Material:
    """What a load or a weight is made of."""

    name: str
    """whose material: "load", "weights" """
    kg_m3: float
    u_kg_m3: float = 0.0
    """standard uncertainty"""


STEEL = Material("weights", 7950, 70)
"""stainless steel, 7950 kg/m3 +- 140 kg/m3 with k = 2 (OIML R 111-1:2004, table B.7, from memory)"""


def conventional_mass(mass: float, density_kg_m3: float) -> float:
    """Return the conventional mass of a body, in the unit of its mass (OIML D 28:2004)."""
    return mass * (1 - AIR_KG_M3 / density_kg_m3) / _AT_ONE


def true_mass(conventional: float, density_kg_m3: float) -> float:
    """Return the mass of a body of known conventional mass, in the same unit."""
    return conventional * _AT_ONE / (1 - AIR_KG_M3 / density_kg_m3)


def adjustment_air(air: AirDensity, weights: Material = STEEL) -> Correction:
    """Return the correction for a scale adjusted in other air than 1.2 kg/m3, with weights of this material."""
    at_adjustment = 1 - air.kg_m3 / weights.kg_m3
    conventional = 1 - AIR_KG_M3 / weights.kg_m3
    by_air = -1 / weights.kg_m3 / at_adjustment
    by_density = (air.kg_m3 / at_adjustment - AIR_KG_M3 / conventional) / weights.kg_m3**2
    return Correction(
        "air at adjustment",
        at_adjustment / conventional,
        ((f"air {air.name}", by_air * air.u_kg_m3), (weights.name, by_density * weights.u_kg_m3)),
    )


def present_air(air: AirDensity, load: Material) -> Correction:
    """Return the correction for a load weighed in other air than 1.2 kg/m3; with it a reading is conventional mass."""
    now = 1 - air.kg_m3 / load.kg_m3
    conventional = 1 - AIR_KG_M3 / load.kg_m3
    by_air = 1 / load.kg_m3 / now
    by_density = (AIR_KG_M3 / conventional - air.kg_m3 / now) / load.kg_m3**2
    return Correction(
        "air around the load",
        conventional / now,
        ((f"air {air.name}", by_air * air.u_kg_m3), (load.name, by_density * load.u_kg_m3)),
    )


def conventional_to_mass(load: Material) -> Correction:
    """Return the correction from conventional mass to mass: the whole buoyancy of the load in air of 1.2 kg/m3."""
    conventional = 1 - AIR_KG_M3 / load.kg_m3
    by_density = -AIR_KG_M3 / load.kg_m3**2 / conventional
    contributions = ((load.name, by_density * load.u_kg_m3),)
    return Correction("conventional mass to mass", _AT_ONE / conventional, contributions)


@dataclass(frozen=True)
class Comparison:
    """The conventional mass found by comparing with a reference; every mass in one and the same unit."""

    conventional_mass: float
    u_first_order: float
    """by the law of propagation; at air of 1.2 kg/m3 it is blind to the buoyancy"""
    u: float
    """standard uncertainty with the terms of second order"""


def compare(
    reference: float,
    u_reference: float,
    difference: float,
    u_difference: float,
    air: AirDensity,
    test_material: Material,
    reference_material: Material,
) -> Comparison:
    """Return the conventional mass of a test weight that weighs `difference` more than a reference of known one.

    Model and second-order term: JCGM 101:2008, 9.3.
    """
    excess_kg_m3 = air.kg_m3 - AIR_KG_M3
    density_term = 1 / test_material.kg_m3 - 1 / reference_material.kg_m3
    factor = 1 + excess_kg_m3 * density_term
    mass = reference + difference
    u_test = test_material.u_kg_m3 / test_material.kg_m3**2
    u_ref = reference_material.u_kg_m3 / reference_material.kg_m3**2
    u_masses = hypot(u_reference, u_difference) * factor
    u_buoyancy = mass * hypot(air.u_kg_m3 * density_term, excess_kg_m3 * u_test, excess_kg_m3 * u_ref)
    first_order = hypot(u_masses, u_buoyancy)
    second_order = mass * air.u_kg_m3 * hypot(u_test, u_ref)
    return Comparison(mass * factor, first_order, hypot(first_order, second_order))
