"""`scalewright check`: every step of a scale's range against its tolerance, with the coefficients it has."""

import argparse
import json

from scalewright.command_line.bench import (
    STEP_HEADINGS,
    add_scale_arguments,
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
    parser.add_argument("--mark", action="store_true", help="let the device note that it passed, or is rejected")


def run(arguments: argparse.Namespace) -> int:
    """Check and report. Exit code 1 where a step fails its tolerance."""
    from decimal import Decimal
    from fractions import Fraction

    from scalewright.command_line.carry_out import carry_out
    from scalewright.link.scale import Scale
    from scalewright.procedures.calibration import Calibration
    from scalewright.procedures.loads import up_and_down
    from scalewright.procedures.range_check import RangeCheck, hysteresis
    from scalewright.procedures.scale_under_test import Held
    from scalewright.procedures.suspicions import suspicions
    from scalewright.records.journal import Journal
    from shared_calc.coefficient_record import decode

    with Scale.open(arguments.port) as scale, Journal(arguments.records) as journal:
        record = decode(scale.read_coefficients())
        division_g = record.mantissa * Fraction(10) ** record.power_of_ten
        max_g = Decimal(record.max_divisions * record.mantissa).scaleb(record.power_of_ten)
        limits = limits_for(arguments.accuracy_class, division_g, max_g)
        loads = made_of_masses(arguments, up_and_down(max_g, arguments.steps))
        plan = Calibration(Held(limits, readings=arguments.readings), as_found=(RangeCheck(loads),))
        job = carry_out(scale, journal, plan, circumstances(arguments, journal, scale, loads, limits))
        (steps,) = job.result.as_found
        head, passed, found = journal.head(), job.passed, suspicions(plan, job.run)
        if arguments.mark:
            scale.ask(f"CALibration:VERification {_verdict(passed, limits.name)}")
    if arguments.json:
        ways = [{"load_g": float(g), "difference_g": float(each)} for g, each in hysteresis(steps).items()]
        result = {"job": job.name, "steps": steps_as_json(steps), "hysteresis": ways}
        result["suspicions"] = suspicions_as_json(found)
        print(json.dumps({**result, "passes": passed, "records_head": head.hash}))
    else:
        print(STEP_HEADINGS)
        print("\n".join(step_line(step) for step in steps))
        widest_at_g, widest_g = max(hysteresis(steps).items(), key=lambda each: abs(each[1]))
        print(f"Falling minus rising: {float(widest_g):+.3f} g at {widest_at_g} g, where it is widest.")
        print("passes" if passed else "FAILS", f"class {limits.name}, e = {float(division_g):g} g")
        tell_suspicions(found)
    return 0 if passed else 1


def _verdict(passed: bool, limits_name: str) -> str:
    return "ACCepted" if passed else f'REJected,"check against class {limits_name} failed"'
