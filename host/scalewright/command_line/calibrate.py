"""`scalewright calibrate`: every step as found, adjustment at known loads up and down, every step as left."""

import argparse
import json

from scalewright.command_line.bench import (
    STEP_HEADINGS,
    add_scale_arguments,
    division,
    found_as_json,
    found_line,
    grams,
    limits_for,
    step_line,
    steps_as_json,
    suspicions_as_json,
    tell_suspicions,
)
from scalewright.command_line.circumstances import add_circumstances_arguments, circumstances, made_of_masses


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_scale_arguments(parser)
    add_circumstances_arguments(parser)
    parser.add_argument("--max", required=True, metavar="G", help="Max, the maximum capacity, in grams")
    parser.add_argument("--division", required=True, metavar="G", help="d, in grams: 1, 2 or 5 times a power of ten")
    curve = parser.add_mutually_exclusive_group()
    curve.add_argument("--degree", type=int, default=3, choices=(1, 2, 3), help="of the calibration curve (default 3)")
    curve.add_argument("--two-point", action="store_true", help="adjust at zero and Max only, by a straight line")
    parser.add_argument("--skip-as-found", action="store_true", help="do not check the scale before it is adjusted")
    parser.add_argument("--forget-compensation", action="store_true", help="of temperature, from now on")
    parser.add_argument("--observations", metavar="FILE", help="also write the points to this file, for analyse")


def run(arguments: argparse.Namespace) -> int:
    """Adjust, check, report. Exit code 1 where a step fails its tolerance."""
    from scalewright.command_line.carry_out import carry_out
    from scalewright.link.scale import Scale
    from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
    from scalewright.procedures.calibration import Calibration
    from scalewright.procedures.loads import ends, up_and_down
    from scalewright.procedures.range_check import RangeCheck
    from scalewright.procedures.scale_under_test import Held
    from scalewright.procedures.suspicions import suspicions
    from scalewright.recordings import write_observations
    from scalewright.records.journal import Journal
    from shared_calc.coefficient_record import identity

    degree = 1 if arguments.two_point else arguments.degree
    design = ScaleDesign(grams(arguments.max, "--max"), division(arguments.division), degree)
    limits = limits_for(arguments.accuracy_class, design.division_g, design.max_g)
    loads = made_of_masses(arguments, up_and_down(design.max_g, arguments.steps))
    tests = (RangeCheck(loads),)
    plan = Calibration(
        Held(limits, readings=arguments.readings),
        as_found=() if arguments.skip_as_found else tests,
        adjustment=MultiPoint(
            design, ends(loads) if arguments.two_point else loads, arguments.readings, arguments.forget_compensation
        ),
        as_left=tests,
    )
    with Scale.open(arguments.port) as scale, Journal(arguments.records) as journal:
        job = carry_out(
            scale, journal, plan, circumstances(arguments, journal, scale, loads, limits, calibrates=True)
        )
        head = journal.head()
    adjusted, found, (steps,) = job.result.adjustment, job.result.as_found, job.result.as_left
    if arguments.observations:
        write_observations(arguments.observations, adjusted.observations, {"degree": design.degree})
    if arguments.json:
        result = {
            "job": job.name,
            "as_found": found_as_json(found),
            "coefficients": adjusted.coefficients.hex(),
            "coefficients_crc": identity(adjusted.coefficients),
            "steps": steps_as_json(steps),
            "suspicions": suspicions_as_json(suspicions(plan, job.run)),
            "passes": job.passed,
            "records_head": head.hash,
        }
        print(json.dumps(result))
    else:
        print(found_line(found))
        print(f"Coefficients {identity(adjusted.coefficients)} stored and read back.")
        print(STEP_HEADINGS)
        print("\n".join(step_line(step) for step in steps))
        print("passes" if job.passed else "FAILS", f"class {limits.name}, e = {arguments.division} g")
        tell_suspicions(suspicions(plan, job.run))
    return 0 if job.passed else 1
