"""`scalewright type-curve`: one curve for all units of a design, from units that were calibrated at many loads."""

import argparse
import json
from fractions import Fraction
from typing import Any

from scalewright.analysis.type_curve import Trim, TrimLoad, TypeCurve
from scalewright.command_line.bench import grams

_STEPS = 10


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("files", nargs="+", metavar="FILE", help="observations (CSV) of one unit each")
    parser.add_argument("--max", required=True, metavar="G", help="Max of the design, in grams")
    parser.add_argument("--degree", type=int, default=3, choices=(1, 2, 3), help="of the curve (default 3)")
    parser.add_argument("--design", default="", metavar="TEXT", help="what it is the curve of")
    parser.add_argument("--output", required=True, metavar="FILE", help="where the type curve is written (JSON)")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Pool, write, report."""
    from scalewright.analysis.pooling import pool
    from scalewright.analysis.type_curve import write_type_curve
    from scalewright.recordings import read_observations

    units = {file: read_observations(file) for file in arguments.files}
    curve = pool(units, arguments.degree, grams(arguments.max, "--max"), arguments.design)
    write_type_curve(arguments.output, curve)
    results = _results(curve, arguments.output)
    print(json.dumps(results, indent=1) if arguments.json else _report(results))
    return 0


def _results(curve: TypeCurve, file: str) -> dict[str, Any]:
    return {
        "file": file,
        "design": curve.design,
        "max_g": float(curve.max_g),
        "shape": [float(a) for a in curve.shape],
        "units": [
            {"name": unit.name, "zero_counts": unit.zero_counts, "full_counts": unit.full_counts,
             "residual_sd_g": unit.residual_sd_g}
            for unit in curve.units
        ],
        "steps": [_step(curve, Fraction(curve.max_g) * k / _STEPS) for k in range(_STEPS + 1)],
    }  # fmt: skip


def _step(curve: TypeCurve, load_g: Fraction) -> dict[str, Any]:
    """Return what a straight line would be off at a load, and how far a further unit may be off the type's curve."""
    max_g = Fraction(curve.max_g)
    ideal = Trim(curve, TrimLoad(Fraction(0), Fraction(0)), TrimLoad(max_g, Fraction(1)))
    q = ideal.counts(load_g)
    return {
        "load_g": float(load_g),
        "line_error_g": float(q * max_g - load_g),
        "u_shape_g": ideal.u_load(q).shape_g,
    }


def _report(results: dict[str, Any]) -> str:
    lines = [f"Type curve of {len(results['units'])} unit(s), written to {results['file']}.", ""]
    lines += [f"{'unit':<30}{'zero counts':>16}{'full counts':>16}{'residual sd g':>16}"]
    lines += [
        f"{u['name'][-30:]:<30}{u['zero_counts']:>16.1f}{u['full_counts']:>16.1f}{u['residual_sd_g']:>16.4g}"
        for u in results["units"]
    ]
    lines += ["", f"{'load g':>12}{'line off g':>14}{'u(shape) g':>14}"]
    lines += [
        f"{s['load_g']:>12.6g}{s['line_error_g']:>14.4g}{_known(s['u_shape_g']):>14}" for s in results["steps"]
    ]
    if len(results["units"]) == 1:
        lines += ["", "One unit says nothing of how others differ: check every step of a unit that is trimmed to it."]
    return "\n".join(lines)


def _known(value: float | None) -> str:
    return "not known" if value is None else f"{value:.4g}"
