"""Gravity differs from place to place, and a scale that is moved shows it, for it measures force.

Adjusted in one place and used in another, a scale is wrong by the ratio of the two gravities. Adjusting it again where
it stands removes that; the correction here is for where that cannot be done.
"""

from dataclasses import dataclass
from math import radians, sin, sqrt

from scalewright.analysis.correction import Correction
from scalewright.errors import InputError

U_RELATIVE = 50e-6
"""standard uncertainty of the formula as a statement of the real gravity in a place, from memory; more in mountains"""
U_SURVEYED_M_S2 = 1e-5
"""standard uncertainty of gravity as a geodetic survey states it (from memory)"""
_GRAVITY_RANGE_M_S2 = (9.75, 9.84)
_HEIGHT_RANGE_M = (-500.0, 9000.0)
_LATITUDE_RANGE_DEG = (-90.0, 90.0)


@dataclass(frozen=True)
class Ellipsoid:
    """The constants of the closed formula of Somigliana for gravity on an ellipsoid."""

    equator_m_s2: float
    k: float
    eccentricity_squared: float


WGS84 = Ellipsoid(9.7803253359, 0.00193185265241, 0.00669437999013)
GRS80 = Ellipsoid(9.7803267715, 0.001931851353, 0.0066943800229)


@dataclass(frozen=True)
class Gravity:
    """Gravity in a place, and how well it is known."""

    name: str
    """which place: "here", "at adjustment" """
    m_s2: float
    u_m_s2: float
    """standard uncertainty"""


def normal_gravity_m_s2(latitude_deg: float, height_m: float = 0.0, ellipsoid: Ellipsoid = WGS84) -> float:
    """Return gravity by the normal gravity formula, at a height above the sea.

    Sources: Somigliana's formula with the constants of the ellipsoid; height to second order, with the constants of
    WGS 84. Raises InputError for a place that is not on Earth.
    """
    _check("latitude", latitude_deg, _LATITUDE_RANGE_DEG, "°")
    _check("height", height_m, _HEIGHT_RANGE_M, "m")
    s2 = sin(radians(latitude_deg)) ** 2
    at_sea = ellipsoid.equator_m_s2 * (1 + ellipsoid.k * s2) / sqrt(1 - ellipsoid.eccentricity_squared * s2)
    return at_sea * (1 - (3.15704e-7 - 2.10269e-9 * s2) * height_m + 7.37452e-14 * height_m**2)


def gravity(name: str, latitude_deg: float, height_m: float = 0.0) -> Gravity:
    """Return gravity in a place by formula, good to some 50 parts in a million."""
    value = normal_gravity_m_s2(latitude_deg, height_m)
    return Gravity(name, value, U_RELATIVE * value)


def surveyed_gravity(name: str, m_s2: float, u_m_s2: float = U_SURVEYED_M_S2) -> Gravity:
    """Return gravity in a place as a survey states it. Raises InputError for what is found nowhere on Earth."""
    _check("gravity", m_s2, _GRAVITY_RANGE_M_S2, "m/s2")
    return Gravity(name, m_s2, u_m_s2)


def moved(adjusted: Gravity, here: Gravity) -> Correction:
    """Return the correction for a scale adjusted under one gravity and used under another."""
    contributions = (
        (f"gravity {adjusted.name}", adjusted.u_m_s2 / adjusted.m_s2),
        (f"gravity {here.name}", -here.u_m_s2 / here.m_s2),
    )
    return Correction("gravity", adjusted.m_s2 / here.m_s2, contributions)


def _check(name: str, value: float, limits: tuple[float, float], unit: str) -> None:
    if not limits[0] <= value <= limits[1]:
        raise InputError(f"{name} {value:g} {unit}; expected {limits[0]:g} to {limits[1]:g} {unit}")
