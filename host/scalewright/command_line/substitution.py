"""`scalewright substitution`: test loads built up by ballast in place of the reference mass, and their uncertainty."""

import argparse
import json
from fractions import Fraction
from typing import Any

from scalewright.command_line.numbers import number


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", metavar="FILE", help="CSV with with_mass_g,with_ballast_g,u_indication_g for each step")
    parser.add_argument("--mass", required=True, metavar="G", help="the reference mass, in grams")
    parser.add_argument("--u-mass", required=True, metavar="G", help="its standard uncertainty (k = 1), in grams")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Add up and report."""
    from scalewright.analysis.substitution import build_up, read_substitutions
    from scalewright.command_line.bench import grams

    mass_g = Fraction(grams(arguments.mass, "--mass"))
    u_mass_g = float(number(arguments.u_mass, "--u-mass", low=0))
    built = build_up(mass_g, u_mass_g, read_substitutions(arguments.file))
    results = {
        "test_loads": [
            {"masses": n, "load_g": float(load), "u_load_g": float(u)}
            for n, (load, u) in enumerate(zip(built.loads_g, built.u_loads_g, strict=True), 1)
        ],
        "covariance_g2": built.covariance_g2.tolist(),
    }
    print(json.dumps(results, indent=1) if arguments.json else _report(results))
    return 0


def _report(results: dict[str, Any]) -> str:
    lines = [f"{'of n masses':>11}{'test load g':>18}{'u (k = 1) g':>14}"]
    lines += [f"{row['masses']:>11}{row['load_g']:>18.12g}{row['u_load_g']:>14.4g}" for row in results["test_loads"]]
    lines.append("These are the load_g and load_u_g of observations. They are correlated: --json has the covariance.")
    return "\n".join(lines)
