"""`scalewright calibrate`: adjustment at known loads up and down, then the check of every step as left."""

import argparse
import json

from scalewright.command_line.bench import (
    STEP_HEADINGS,
    add_scale_arguments,
    adjust,
    check,
    division,
    grams,
    limits_for,
    step_line,
    steps_as_json,
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_scale_arguments(parser)
    parser.add_argument("--max", required=True, metavar="G", help="Max, the maximum capacity, in grams")
    parser.add_argument("--division", required=True, metavar="G", help="d, in grams: 1, 2 or 5 times a power of ten")
    parser.add_argument("--degree", type=int, default=3, choices=(1, 2, 3), help="of the calibration curve (default 3)")
    parser.add_argument("--forget-compensation", action="store_true", help="of temperature, from now on")
    parser.add_argument("--observations", metavar="FILE", help="also write the points to this file, for analyse")


def run(arguments: argparse.Namespace) -> int:
    """Adjust, check, report. Exit code 1 where a step fails its tolerance."""
    from scalewright.link.scale import Scale
    from scalewright.procedures.adjustment import ScaleDesign
    from scalewright.procedures.loads import up_and_down
    from scalewright.recordings import write_observations
    from scalewright.records.journal import Journal
    from shared_calc.coefficient_record import identity

    design = ScaleDesign(grams(arguments.max, "--max"), division(arguments.division), arguments.degree)
    limits = limits_for(arguments.accuracy_class, design.division_g, design.max_g)
    loads_g = up_and_down(design.max_g, arguments.steps)
    with Scale.open(arguments.port) as scale, Journal(arguments.records) as journal:
        forget = arguments.forget_compensation
        adjusted = adjust(scale, journal, design, loads_g, arguments.readings, forget_compensation=forget)
        if arguments.observations:
            write_observations(arguments.observations, adjusted.observations, {"degree": design.degree})
        steps = check(scale, journal, limits, loads_g, arguments.readings)
        head = journal.head()
    passed = all(step.passes for step in steps)
    if arguments.json:
        result = {
            "coefficients": adjusted.coefficients.hex(),
            "coefficients_crc": identity(adjusted.coefficients),
            "steps": steps_as_json(steps),
            "passes": passed,
            "records_head": head.hash,
        }
        print(json.dumps(result))
    else:
        print(f"Coefficients {identity(adjusted.coefficients)} stored and read back.")
        print(STEP_HEADINGS)
        print("\n".join(step_line(step) for step in steps))
        print("passes" if passed else "FAILS", f"class {limits.name}, e = {arguments.division} g")
    return 0 if passed else 1
