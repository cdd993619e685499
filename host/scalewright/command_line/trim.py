"""`scalewright trim`: a further unit of a known design, adjusted at zero and full load, then checked at every step."""

import argparse
import json
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from scalewright.command_line.bench import (
    STEP_HEADINGS,
    add_scale_arguments,
    division,
    grams,
    limits_for,
    step_line,
    steps_as_json,
)
from scalewright.command_line.numbers import number
from scalewright.procedures.range_check import Step
from scalewright.procedures.trimming import Trimming


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_scale_arguments(parser)
    parser.add_argument("--type-curve", required=True, metavar="FILE", help="what `scalewright type-curve` wrote")
    parser.add_argument("--division", required=True, metavar="G", help="d, in grams: 1, 2 or 5 times a power of ten")
    parser.add_argument("--full", metavar="G", help="the reference mass at or near Max (default: Max)")
    parser.add_argument("--u-full", default="0", metavar="G", help="its standard uncertainty (default 0)")


def run(arguments: argparse.Namespace) -> int:
    """Trim, check, report. Exit code 1 where a step fails its tolerance."""
    from scalewright.analysis.type_curve import read_type_curve
    from scalewright.command_line.carry_out import carry_out
    from scalewright.link.scale import Scale
    from scalewright.procedures.calibration import Calibration
    from scalewright.procedures.loads import up_and_down
    from scalewright.procedures.range_check import RangeCheck
    from scalewright.procedures.requests import Load
    from scalewright.procedures.scale_under_test import Held
    from scalewright.procedures.trimming import TypeCurveTrim
    from scalewright.records.journal import Journal

    curve = read_type_curve(arguments.type_curve)
    mantissa, power_of_ten = d = division(arguments.division)
    full_g = curve.max_g if arguments.full is None else grams(arguments.full, "--full")
    u_full_g = number(arguments.u_full, "--u-full", low=0)
    limits = limits_for(arguments.accuracy_class, mantissa * Fraction(10) ** power_of_ten, curve.max_g)
    plan = Calibration(
        Held(limits, readings=arguments.readings),
        adjustment=TypeCurveTrim(curve, d, Load(full_g, (), u_full_g), arguments.readings),
        as_left=(RangeCheck(up_and_down(curve.max_g, arguments.steps)),),
    )
    with Scale.open(arguments.port) as scale, Journal(arguments.records) as journal:
        job = carry_out(scale, journal, plan)
        head = journal.head()
    trimmed, (steps,) = job.result.adjustment, job.result.as_left
    results = {"job": job.name} | _results(trimmed, steps) | {"records_head": head.hash}
    print(json.dumps(results) if arguments.json else _report(results, trimmed, steps))
    return 0 if results["passes"] else 1


def _results(trimmed: Trimming, steps: Sequence[Step]) -> dict[str, Any]:
    from shared_calc.coefficient_record import identity

    certain = [trimmed.trim.u_load(trimmed.trim.counts(Fraction(step.load_g))) for step in steps]
    return {
        "coefficients": trimmed.coefficients.hex(),
        "coefficients_crc": identity(trimmed.coefficients),
        "steps": [
            step | {"u_trim_g": u.combined_g, "u_shape_g": u.shape_g}
            for step, u in zip(steps_as_json(steps), certain, strict=True)
        ],
        "passes": all(step.passes for step in steps),
    }


def _report(results: dict[str, Any], trimmed: Trimming, steps: Sequence[Step]) -> str:
    lines = [f"Coefficients {results['coefficients_crc']} stored and read back.", f"{STEP_HEADINGS}{'u(trim) g':>17}"]
    lines += [f"{step_line(step)}{row['u_trim_g']:>11.3f}" for step, row in zip(steps, results["steps"], strict=True)]
    if results["steps"][0]["u_shape_g"] is None:
        lines.append("u(trim) is without what units differ in shape: the type curve comes from one unit.")
    lines.append("u(trim): of shape, zero and full load; not of hysteresis, creep and placing the load.")
    lines.append("passes" if results["passes"] else "FAILS")
    return "\n".join(lines)
