"""`scalewright mass`: what a weight, coins, water or something weighed elsewhere is worth as a reference mass."""

import argparse
import json
from fractions import Fraction
from typing import Any

from scalewright.command_line.numbers import number
from scalewright.masses import U_WATER_KG_M3, ReferenceMass, class_weight, coin_names, coins, water, weighed_elsewhere
from scalewright.units import Unit, find_unit
from scalewright.weight_classes import CLASSES, WeightClass


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the kinds of mass and their options."""
    kinds = parser.add_subparsers(dest="kind", metavar="KIND", required=True)
    weight = kinds.add_parser("weight", help="a weight of an OIML R 111 class")
    weight.add_argument("--class", dest="weight_class", required=True, choices=CLASSES)
    weight.add_argument("--nominal", required=True, metavar="G", help="its nominal value")
    coin = kinds.add_parser("coin", help="coins: for a rough check only")
    coin.add_argument("coin", nargs="?", metavar="COIN", help="such as 'EUR 2'; without it, the coins there are")
    coin.add_argument("--number", type=int, default=1, metavar="N", help="how many of them (default 1)")
    poured = kinds.add_parser("water", help="a volume of water, in a vessel that is tared")
    poured.add_argument("--volume", required=True, metavar="ML")
    poured.add_argument("--u-volume", required=True, metavar="ML", help="standard uncertainty of the volume")
    poured.add_argument("--temperature", required=True, metavar="C", help="of the water")
    poured.add_argument("--u-temperature", default="1", metavar="K", help="standard uncertainty (default 1)")
    poured.add_argument("--purity", default="tap", choices=sorted(U_WATER_KG_M3))
    borrowed = kinds.add_parser("scale", help="something weighed on a borrowed scale")
    borrowed.add_argument("--reading", required=True, metavar="G", help="reading, or mean of readings")
    borrowed.add_argument("--division", required=True, metavar="G", help="d of the borrowed scale")
    borrowed.add_argument("--error", default="0", metavar="G", help="its known error of indication at that load")
    borrowed.add_argument("--u-error", required=True, metavar="G", help="standard uncertainty of that error")
    borrowed.add_argument("--repeatability", default="0", metavar="G", help="its standard deviation")
    borrowed.add_argument("--readings", type=int, default=1, metavar="N", help="how many readings (default 1)")
    for kind in (weight, coin, poured, borrowed):
        kind.add_argument("--unit", default="g", metavar="UNIT", help="show the value in this unit too")
        kind.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Report the mass, its uncertainty, and what it is good for."""
    if arguments.kind == "coin" and arguments.coin is None:
        names = coin_names()
        print(json.dumps({"coins": names}) if arguments.json else "\n".join(names))
        return 0
    result = _result(_KINDS[arguments.kind](arguments), find_unit(arguments.unit))
    print(json.dumps(result) if arguments.json else _report(result))
    return 0


def _weight(arguments: argparse.Namespace) -> ReferenceMass:
    return class_weight(WeightClass(arguments.weight_class), number(arguments.nominal, "--nominal", 0))


def _coins(arguments: argparse.Namespace) -> ReferenceMass:
    return coins(arguments.coin, arguments.number)


def _water(arguments: argparse.Namespace) -> ReferenceMass:
    return water(
        float(number(arguments.volume, "--volume", 0)),
        float(number(arguments.u_volume, "--u-volume", 0)),
        float(number(arguments.temperature, "--temperature")),
        float(number(arguments.u_temperature, "--u-temperature", 0)),
        arguments.purity,
    )


def _scale(arguments: argparse.Namespace) -> ReferenceMass:
    return weighed_elsewhere(
        number(arguments.reading, "--reading", 0),
        float(number(arguments.division, "--division", 0)),
        float(number(arguments.u_error, "--u-error", 0)),
        error_g=number(arguments.error, "--error"),
        repeatability_g=float(number(arguments.repeatability, "--repeatability", 0)),
        readings=arguments.readings,
    )


_KINDS = {"weight": _weight, "coin": _coins, "water": _water, "scale": _scale}


def _result(mass: ReferenceMass, unit: Unit) -> dict[str, Any]:
    return {
        "name": mass.name,
        "value_g": float(mass.value_g),
        "u_value_g": float(mass.u_g),
        "coverage_factor": 2,
        "expanded_u_value_g": float(2 * mass.u_g),
        "unit": unit.name,
        "value_in_unit": float(unit.from_grams(Fraction(mass.value_g))),
        "density_kg_m3": mass.density_kg_m3,
        "u_density_kg_m3": mass.u_density_kg_m3,
        "components": [{"name": component.name, "u_value_g": component.u_g} for component in mass.components],
        "source": mass.source,
        "supports": mass.supports,
        "caution": mass.caution,
    }


def _report(result: dict[str, Any]) -> str:
    lines = [f"{result['name']}: {result['value_g']:.9g} g, u = {result['u_value_g']:.3g} g (k = 1)"]
    if result["unit"] != "gram":
        lines.append(f"  in {result['unit']}: {result['value_in_unit']:.9g}")
    lines += [f"  {component['u_value_g']:>10.3g} g  {component['name']}" for component in result["components"]]
    lines += [f"  source: {result['source']}", f"  {result['supports']}"]
    return "\n".join(lines + [f"  caution: {result['caution']}"] * bool(result["caution"]))
