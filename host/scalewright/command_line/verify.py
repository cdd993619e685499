"""`scalewright verify`: the tests of a whole verification, one after the other, and the faults they point to."""

import argparse
import json
import sys
from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING, TextIO

from scalewright.command_line.bench import (
    add_records_arguments,
    grams,
    limits_for,
    outcomes_as_json,
    suspicions_as_json,
    whole_number,
)
from scalewright.command_line.circumstances import add_circumstances_arguments, circumstances, made_of_masses
from scalewright.command_line.numbers import number
from scalewright.errors import MeasurementError

if TYPE_CHECKING:
    from scalewright.equipment import RegisteredScale
    from scalewright.link.scale import Scale
    from scalewright.procedures.calibration import Calibration
    from scalewright.procedures.outcomes import Outcome
    from scalewright.procedures.requests import Load
    from scalewright.procedures.verification import ToVerify
    from scalewright.records.journal import Journal

_CHECKS = ("level the scale, clear and clean the pan, and see that nothing touches it",)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    sets = "quick, usual (default), full, laboratory; or a list with commas, such as range,creep"
    parser.add_argument("--port", required=True, metavar="URL", help="device name or URL; virtual://bench: no hardware")
    parser.add_argument("--tests", default="usual", metavar="SET", help=sets)
    parser.add_argument("--outline", action="store_true", help="only tell what it takes")
    parser.add_argument("--class", dest="accuracy_class", default="III", choices=("I", "II", "III", "IIII"))
    parser.add_argument("--in-service", action="store_true", help="hold it against the limits for scales in use")
    parser.add_argument("--steps", type=whole_number, default=5, metavar="N", help="even loads up to Max (default 5)")
    parser.add_argument("--times", type=whole_number, default=5, metavar="N", help="weighings in a series (default 5)")
    parser.add_argument("--readings", type=whole_number, default=16, metavar="N", help="raw readings a load")
    parser.add_argument("--on-for", type=int, default=0, metavar="MIN", help="how long it must have been on first")
    parser.add_argument("--off-centre", metavar="G", help="load of the eccentricity test (default: by OIML R 76)")
    parser.add_argument("--reference", metavar="G", help="reference masses there are in all, for test substitution")
    parser.add_argument("--tilt", type=whole_number, default=50, metavar="N", help="thousandths out of level")
    parser.add_argument("--airs", metavar="C,C,…", help="temperatures of the air (default 20,40,-10,5,20)")
    parser.add_argument("--look", type=whole_number, default=300, metavar="S", help="until it has followed, every S")
    parser.add_argument("--cold", type=whole_number, default=480, metavar="MIN", help="off before the warm-up")
    add_circumstances_arguments(parser)
    add_records_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Test, tell what is found as it comes, and name what it points to. Exit code 1 where a limit is not kept."""
    from scalewright.command_line.carry_out import go_on
    from scalewright.link.scale import Scale
    from scalewright.link.sighting import look_at
    from scalewright.procedures.job import Job
    from scalewright.procedures.suspicions import suspicions
    from scalewright.records.journal import Journal

    with Scale.open(arguments.port) as scale, Journal(arguments.records) as journal:
        plan, loads = _plan(arguments, scale, journal)
        if _outlined(plan, scale, arguments):
            return 0
        said = circumstances(arguments, journal, scale, loads, plan.held.limits)
        job = Job.begin(journal, plan, look_at(scale), said)
        try:
            go_on(scale, job, _Told(sys.stderr if arguments.json else sys.stdout).tell, is_resumed=False)
        except MeasurementError as error:
            if job.passed:
                raise
            print(f"scalewright: ended before all was tested: {error}", file=sys.stderr)
        found, head = suspicions(plan, job.run), journal.head()
    if arguments.json:
        outcomes = outcomes_as_json(job.run.outcomes)
        result = {"job": job.name, "outcomes": outcomes, "suspicions": suspicions_as_json(found)}
        is_whole = job.run.result is not None
        print(json.dumps({**result, "whole": is_whole, "passes": job.passed, "records_head": head.hash}))
    else:
        print("\n".join(["", *map(str, found), "passes" if job.passed else "FAILS"]))
    return 0 if job.passed else 1


def _plan(
    arguments: argparse.Namespace, scale: "Scale", journal: "Journal"
) -> tuple["Calibration", list["Load"]]:
    """Return the plan and every load in it."""
    from scalewright.equipment import RegisteredScale
    from scalewright.procedures.calibration import Calibration
    from scalewright.procedures.preparation import Preparation
    from scalewright.procedures.requests import Load
    from scalewright.procedures.scale_under_test import Held, division_of
    from scalewright.procedures.verification import chosen, min_of, names_of
    from scalewright.records.registers import find
    from shared_calc.coefficient_record import decode

    names = names_of(arguments.tests)
    record = decode(scale.read_coefficients())
    registered = find(journal, RegisteredScale, arguments.scale) if arguments.scale else None
    max_g = Decimal(record.max_divisions * record.mantissa).scaleb(record.power_of_ten)
    limits = registered.limits if registered else limits_for(arguments.accuracy_class, division_of(record), max_g)
    held = Held(limits, arguments.in_service, arguments.readings)
    loads: list[Load] = []

    def load(nominal_g: Decimal) -> Load:
        loads.extend(made_of_masses(arguments, [Load(nominal_g)]))
        return loads[-1]

    min_g = (registered and registered.min_g) or min_of(limits, division_of(record))
    to_verify = _to_verify(arguments, registered, max_g, min_g, load)
    preparation = Preparation(_CHECKS, arguments.on_for * 60, load(max_g))
    return Calibration(held, preparation, chosen(names, to_verify)), loads


def _to_verify(
    arguments: argparse.Namespace,
    registered: "RegisteredScale | None",
    max_g: Decimal,
    min_g: Decimal,
    load: "Callable[[Decimal], Load]",
) -> "ToVerify":
    from scalewright.equipment import PANS
    from scalewright.procedures.verification import AIRS_C, ToVerify

    return ToVerify(
        max_g,
        min_g,
        pan=registered.pan if registered else PANS[0],
        supports=registered.supports if registered else 4,
        load=load,
        steps=arguments.steps,
        times=arguments.times,
        airs_c=tuple(number(air, "--airs") for air in arguments.airs.split(",")) if arguments.airs else AIRS_C,
        off_s=arguments.cold * 60,
        look_every_s=arguments.look,
        per_mille=arguments.tilt,
        off_centre_g=grams(arguments.off_centre, "--off-centre") if arguments.off_centre else None,
        reference_g=grams(arguments.reference, "--reference") if arguments.reference else None,
    )


def _outlined(plan: "Calibration", scale: "Scale", arguments: argparse.Namespace) -> bool:
    """Say what the plan takes; on stdout, as the result, where that is all that was asked for."""
    from scalewright.procedures.rehearsal import rehearse

    outline = rehearse(plan, scale.read_coefficients())
    stages = [stage.partition(": ")[2] or stage for stage in outline.stages]
    if arguments.outline and arguments.json:
        print(json.dumps({"stages": stages, "readings": outline.readings, "duration_s": outline.duration_s}))
    else:
        minutes = outline.duration_s / 60
        how_long = f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.0f} h"
        took = f"{outline.readings} readings, about {how_long}"
        print(f"{', '.join(stages)}: {took}", file=sys.stdout if arguments.outline else sys.stderr)
    return bool(arguments.outline)


class _Told:
    """Prints each outcome as it comes, under the title of its test."""

    def __init__(self, to: TextIO) -> None:
        self._to = to
        self._stage = ""

    def tell(self, outcome: "Outcome") -> None:
        """Print one."""
        if outcome.stage != self._stage:
            self._stage = outcome.stage
            print(f"{outcome.stage.partition(': ')[2]} ({outcome.source})", file=self._to)
        verdict = "pass" if outcome.passes else "FAIL"
        figures = f"{float(outcome.value):>+11.4g} {float(outcome.limit):>9.4g} {outcome.unit}"
        print(f"  {outcome.what:46.46} {figures:24} {verdict}", file=self._to, flush=True)
