"""`scalewright daily`: one or two check masses in seconds, against the tolerance and for the control chart."""

import argparse
import json
from decimal import Decimal
from typing import TYPE_CHECKING

from scalewright.command_line.bench import add_records_arguments, grams, limits_for
from scalewright.command_line.circumstances import add_circumstances_arguments, circumstances, made_of_masses
from scalewright.errors import InputError

if TYPE_CHECKING:
    from scalewright.equipment import Limits
    from scalewright.link.scale import Scale
    from scalewright.procedures.daily_check import CheckedMass
    from scalewright.records.journal import Journal

_AFTER_FAILURE = "Repeat it once. If it fails again, do not use the scale before it is checked and adjusted."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", required=True, metavar="URL", help="device name or URL; virtual://bench: no hardware")
    parser.add_argument("--loads", required=True, metavar="G[,G]", help="the check masses, in grams, such as 500,2000")
    parser.add_argument("--class", dest="accuracy_class", default="III", choices=("I", "II", "III", "IIII"))
    parser.add_argument("--readings", type=int, default=16, metavar="N", help="raw readings a load (default 16)")
    add_circumstances_arguments(parser)
    add_records_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Check and report. Exit code 1 where a mass is off by more than a scale in service may be."""
    from scalewright.command_line.carry_out import carry_out
    from scalewright.link.scale import Scale
    from scalewright.procedures.daily_check import DailyCheck
    from scalewright.procedures.requests import Load
    from scalewright.procedures.scale_under_test import Held
    from scalewright.records.journal import Journal

    nominal = [Load(grams(text, "--loads")) for text in arguments.loads.split(",")]
    with Scale.open(arguments.port) as scale, Journal(arguments.records) as journal:
        masses = made_of_masses(arguments, nominal)
        limits = _limits(arguments, scale, journal, max(load.load_g for load in nominal))
        plan = DailyCheck(Held(limits, in_service=True, readings=arguments.readings), masses)
        job = carry_out(scale, journal, plan, circumstances(arguments, journal, scale, masses, limits))
        head = journal.head()
    if arguments.json:
        checks = [_as_json(mass) for mass in job.result]
        print(json.dumps({"job": job.name, "checks": checks, "passes": job.passed, "records_head": head.hash}))
    else:
        print("\n".join(map(_line, job.result)))
        print(f"passes {limits.source}, in service" if job.passed else f"FAILS {limits.source}. {_AFTER_FAILURE}")
    return 0 if job.passed else 1


def _limits(arguments: argparse.Namespace, scale: "Scale", journal: "Journal", heaviest_g: Decimal) -> "Limits":
    """Return the limits of the registered scale, else those of the class. Raises InputError for a load beyond Max."""
    from scalewright.equipment import RegisteredScale
    from scalewright.procedures.scale_under_test import division_of
    from scalewright.records.registers import find
    from shared_calc.coefficient_record import decode

    record = decode(scale.read_coefficients())
    max_g = Decimal(record.max_divisions * record.mantissa).scaleb(record.power_of_ten)
    if heaviest_g > max_g:
        raise InputError(f"--loads {heaviest_g}; expected no more than Max, {max_g} g")
    if arguments.scale:
        return find(journal, RegisteredScale, arguments.scale).limits
    return limits_for(arguments.accuracy_class, division_of(record), max_g)


def _line(mass: "CheckedMass") -> str:
    verdict = "pass" if abs(mass.error_g) <= mass.limit_g else "FAIL"
    figures = f"error {float(mass.error_g):+.4g} g, limit {float(mass.limit_g):.4g} g"
    return f"{mass.load_g:>10} g   shows {mass.indication_g} g, {figures}   {verdict}"


def _as_json(mass: "CheckedMass") -> dict[str, float | bool]:
    figures = {name: float(getattr(mass, name)) for name in ("load_g", "indication_g", "error_g", "limit_g")}
    return {**figures, "passes": abs(mass.error_g) <= mass.limit_g}
