"""`scalewright environment`: what air and gravity do to a reading, here and where the scale was adjusted."""

import argparse
import json
from dataclasses import dataclass, replace
from math import prod
from typing import Any

from scalewright.analysis.air import AirDensity, Climate, air_density, standard_pressure_hpa
from scalewright.analysis.buoyancy import Material, adjustment_air, conventional_to_mass, present_air
from scalewright.analysis.correction import Correction, combined
from scalewright.analysis.gravity import Gravity, gravity, moved, surveyed_gravity
from scalewright.command_line.numbers import number

_U_USUAL_PRESSURE_HPA = 10.0
"""standard uncertainty of a pressure known by the height alone (common practice)"""
_LINES = ("gravity", "adjustment-air", "load-air", "conventional")


@dataclass(frozen=True)
class Place:
    """Where a scale stands; None: not measured there."""

    latitude_deg: float = 45.0
    height_m: float = 0.0
    temperature_c: float = 20.0
    pressure_hpa: float | None = None
    gravity_m_s2: float | None = None
    humidity_percent: float = 50.0


_OPTIONS = {
    "latitude": ("latitude_deg", "latitude in degrees"),
    "height": ("height_m", "height above the sea in m"),
    "temperature": ("temperature_c", "temperature of the air in °C"),
    "pressure": ("pressure_hpa", "pressure in hPa, not reduced to the sea; without it, the usual one at that height"),
    "humidity": ("humidity_percent", "relative humidity in %%"),
    "gravity": ("gravity_m_s2", "gravity in m/s2 as surveyed; without it, by formula"),
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    for option, (field, what) in _OPTIONS.items():
        default = getattr(Place, field)
        shown = "" if default is None else f" (default {default:g})"
        parser.add_argument(f"--{option}", metavar="X", help=f"{what}, where the scale is used{shown}")
    for option, (_, what) in _OPTIONS.items():
        parser.add_argument(f"--adjusted-{option}", metavar="X", help=f"{what}, where it was adjusted (default: here)")
    parser.add_argument("--load-density", default="1000", metavar="KG_M3", help="of what is weighed (default 1000)")
    parser.add_argument("--u-load-density", default="0", metavar="KG_M3", help="its standard uncertainty (default 0)")
    parser.add_argument("--reading", default="1000", metavar="G", help="what the scale shows (default 1000)")
    parser.add_argument("--without", action="append", default=[], choices=_LINES, help="leave a correction out")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Report air, gravity and the corrections, and the mass they make of a reading."""
    reading_g = float(number(arguments.reading, "--reading", 0))
    density_kg_m3 = float(number(arguments.load_density, "--load-density", 10))
    load = Material("load", density_kg_m3, float(number(arguments.u_load_density, "--u-load-density", 0)))
    here = _place(arguments, "", Place())
    adjusted = _place(arguments, "adjusted_", here)
    air, g = _air("here", here), _gravity("here", here)
    # What is the same in both places is one thing, known once: its uncertainty cancels where its effect does.
    air_then = air if adjusted == here else _air("at adjustment", adjusted)
    g_then = g if _spot(adjusted) == _spot(here) else _gravity("at adjustment", adjusted)
    lines = (moved(g_then, g), adjustment_air(air_then), present_air(air, load), conventional_to_mass(load))
    applied = [replace(line, applied=key not in arguments.without) for key, line in zip(_LINES, lines, strict=True)]
    places = {"here": _surroundings(air, g), "at_adjustment": _surroundings(air_then, g_then)}
    result = places | _corrected(reading_g, applied)
    print(json.dumps(result) if arguments.json else _report(result))
    return 0


def _place(arguments: argparse.Namespace, prefix: str, base: Place) -> Place:
    """Return a place as the options describe it, and as `base` where they do not."""
    given = {
        field: float(number(text, "--" + (prefix + option).replace("_", "-")))
        for option, (field, _) in _OPTIONS.items()
        if (text := getattr(arguments, prefix + option)) is not None
    }
    if given.keys() & {"latitude_deg", "height_m"}:  # what was measured elsewhere says nothing of this place
        base = replace(base, pressure_hpa=None, gravity_m_s2=None)
    return replace(base, **given)


def _spot(place: Place) -> tuple[float, float, float | None]:
    return place.latitude_deg, place.height_m, place.gravity_m_s2


def _gravity(name: str, place: Place) -> Gravity:
    if place.gravity_m_s2 is None:
        return gravity(name, place.latitude_deg, place.height_m)
    return surveyed_gravity(name, place.gravity_m_s2)


def _air(name: str, place: Place) -> AirDensity:
    climate = Climate(place.temperature_c, standard_pressure_hpa(place.height_m), place.humidity_percent)
    if place.pressure_hpa is None:
        return air_density(name, replace(climate, u_pressure_hpa=_U_USUAL_PRESSURE_HPA))
    return air_density(name, replace(climate, pressure_hpa=place.pressure_hpa))


def _surroundings(air: AirDensity, g: Gravity) -> dict[str, Any]:
    return {
        "air_density_kg_m3": air.kg_m3,
        "u_air_density_kg_m3": air.u_kg_m3,
        "gravity_m_s2": g.m_s2,
        "u_gravity_m_s2": g.u_m_s2,
        "caution": air.caution,
    }


def _corrected(reading_g: float, lines: list[Correction]) -> dict[str, Any]:
    factor, u_relative = combined(lines)
    return {
        "corrections": [
            {"name": c.name, "factor": c.factor, "u_relative": c.u_relative, "applied": c.applied} for c in lines
        ],
        "reading_g": reading_g,
        "mass_g": reading_g * factor,
        "u_mass_g": reading_g * factor * u_relative,
        "left_out_relative": prod(c.factor for c in lines if not c.applied) - 1,
    }


def _report(result: dict[str, Any]) -> str:
    lines = []
    for name in ("here", "at_adjustment"):
        p = result[name]
        air = f"air {p['air_density_kg_m3']:.5f} kg/m3 (u {p['u_air_density_kg_m3']:.2g})"
        g = f"gravity {p['gravity_m_s2']:.5f} m/s2 (u {p['u_gravity_m_s2']:.2g})"
        lines.append(f"{name.replace('_', ' '):15}{air}, {g}")
        lines += [f"{'':15}caution: {p['caution']}"] * bool(p["caution"])
    lines += ["", f"{'correction':26}{'factor':>12}{'ppm':>10}{'u, ppm':>9}"]
    for c in result["corrections"]:
        numbers = f"{c['factor']:>12.8f}{(c['factor'] - 1) * 1e6:>+10.1f}{c['u_relative'] * 1e6:>9.2f}"
        lines.append(f"{c['name']:26}{numbers}{'' if c['applied'] else '  left out'}")
    mass = f"{result['mass_g']:.9g} g, u = {result['u_mass_g']:.2g} g (k = 1, these corrections alone)"
    lines += ["", f"{result['reading_g']:.9g} g shown is {mass}"]
    if result["left_out_relative"]:
        lines.append(f"what was left out remains as an error: {result['left_out_relative'] * 1e6:+.1f} ppm")
    return "\n".join(lines)
