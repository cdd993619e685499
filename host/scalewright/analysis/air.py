"""The density of the air a scale stands in."""

from dataclasses import dataclass
from math import exp, hypot
from math import pow as pow_

from scalewright.errors import InputError


@dataclass(frozen=True)
class AirDensity:
    """The density of air, and how well it is known."""

    name: str
    """which air this is: "here", "at adjustment" """
    kg_m3: float
    u_kg_m3: float
    """standard uncertainty"""
    caution: str = ""
    """what to know before relying on it; empty: nothing"""


@dataclass(frozen=True)
class Climate:
    """What thermometer, barometer and hygrometer show, with standard uncertainties (defaults: common practice)."""

    temperature_c: float
    pressure_hpa: float
    humidity_percent: float
    u_temperature_c: float = 0.5
    u_pressure_hpa: float = 2.0
    u_humidity_percent: float = 5.0


# name, unit, where the formula claims to hold, where we take it at all
_RANGES = {
    "temperature_c": ("temperature", "°C", (10, 30), (0, 35)),
    "pressure_hpa": ("pressure", "hPa", (900, 1100), (600, 1100)),
    "humidity_percent": ("humidity", "%", (0, 80), (0, 90)),
}
_U_MODEL = 2e-4
"""relative standard uncertainty the formula claims in its range"""
_U_MODEL_BEYOND = 1e-3
"""outside it: our own comparison with the CIPM-2007 formula, which differs by 8.5e-4 at worst"""
_STANDARD_PRESSURE_HPA = 1013.25


def air_density(name: str, climate: Climate) -> AirDensity:
    """Return the density of moist air by the simplified CIPM formula, with its standard uncertainty.

    Source: OIML R 111-1:2004, E.3-1: relative standard uncertainty 2e-4 for 900 to 1100 hPa, 10 to 30 °C and up to
    80 %; to it come the uncertainties of the three readings. Outside that range, yet within 600 to 1100 hPa, 0 to 35 °C
    and 90 %, 1e-3 stands for the 2e-4 and the result carries a caution. Beyond that: InputError;
    an AirDensity may then be made of a density measured in another way.
    """
    value = _formula(climate.temperature_c, climate.pressure_hpa, climate.humidity_percent)
    beyond = _beyond_claimed_range(climate)
    u_kg_m3 = hypot(
        value * (_U_MODEL_BEYOND if beyond else _U_MODEL),
        _dp(climate) * climate.u_pressure_hpa,
        _dt(climate, value) * climate.u_temperature_c,
        _dh(climate) * climate.u_humidity_percent,
    )
    caution = f"{' and '.join(beyond)}: outside the formula's range, {_U_MODEL_BEYOND:g} of it added" if beyond else ""
    return AirDensity(name, value, u_kg_m3, caution)


def standard_pressure_hpa(height_m: float) -> float:
    """Return the usual pressure at a height above the sea, for want of a barometer; weather changes it by some 20 hPa.

    Source: international standard atmosphere, ISO 2533:1975 (constants from memory). Raises InputError above 11 km.
    """
    if not abs(height_m) <= 11_000:
        raise InputError(f"height {height_m:g} m; expected at most 11000 m")
    return _STANDARD_PRESSURE_HPA * pow_(1 - 2.25577e-5 * height_m, 5.25588)


def _formula(t: float, p: float, h: float) -> float:
    return (0.34848 * p - 0.009 * h * exp(0.061 * t)) / (273.15 + t)


def _dp(climate: Climate) -> float:
    return 0.34848 / (273.15 + climate.temperature_c)


def _dh(climate: Climate) -> float:
    return -0.009 * exp(0.061 * climate.temperature_c) / (273.15 + climate.temperature_c)


def _dt(climate: Climate, value: float) -> float:
    return 0.061 * climate.humidity_percent * _dh(climate) - value / (273.15 + climate.temperature_c)


def _beyond_claimed_range(climate: Climate) -> list[str]:
    """Return the readings outside the claimed range, in words. Raises InputError for one that is out of all reason."""
    beyond = []
    for field, (name, unit, claimed, taken) in _RANGES.items():
        value = getattr(climate, field)
        if not taken[0] <= value <= taken[1]:
            raise InputError(f"{name} {value:g} {unit}; expected {taken[0]} to {taken[1]} {unit}")
        if not claimed[0] <= value <= claimed[1]:
            beyond.append(f"{name} {value:g} {unit}")
    return beyond
