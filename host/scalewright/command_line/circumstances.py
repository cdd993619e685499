"""What a job at the bench is done with and by whom, as options; and what the guards say to it before it begins."""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from scalewright.errors import InputError

if TYPE_CHECKING:
    from scalewright.equipment import Limits
    from scalewright.link.scale import Scale
    from scalewright.procedures.job import Circumstances
    from scalewright.procedures.requests import Load
    from scalewright.records.journal import Journal


def add_circumstances_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what is registered and used, who works, and what is set aside."""
    used = parser.add_argument_group("what is registered (scalewright register)", "without these no guard looks")
    used.add_argument("--scale", default="", metavar="KEY", help="the scale that is to be behind the port")
    used.add_argument("--masses", metavar="KEY", help="the mass set that loads are put together from")
    used.add_argument("--instrument", action="append", default=[], metavar="KEY", help="in use at the bench")
    used.add_argument("--by", default="", metavar="INITIALS", help="who works: 2 to 4 letters")
    used.add_argument("--remarks", default="", metavar="TEXT", help="anything worth keeping with the job")
    words = 'go on though a guard objects, such as "mass overdue=sent off on Monday"; repeatable, recorded'
    used.add_argument("--set-aside", action="append", default=[], metavar="GUARD=REASON", help=words)


def made_of_masses(arguments: argparse.Namespace, loads: Sequence["Load"]) -> tuple["Load", ...]:
    """Return the loads as the mass set makes them, as they are where none was named. Raises InputError."""
    if not arguments.masses:
        return tuple(loads)
    from scalewright.composition import compose
    from scalewright.equipment import MassSet
    from scalewright.records.journal import Journal
    from scalewright.records.registers import find

    with Journal(arguments.records, read_only=True) as journal:
        masses = find(journal, MassSet, arguments.masses)
    return tuple(compose(masses, load.load_g) if load.load_g else load for load in loads)


def circumstances(
    arguments: argparse.Namespace,
    journal: "Journal",
    scale: "Scale",
    loads: Sequence["Load"],
    limits: "Limits",
    *,
    calibrates: bool = False,
) -> "Circumstances":
    """Return what is true of the job from its beginning, with the objections that were set aside.

    Every objection is told on stderr. Raises ProcedureError for the first that was not set aside, and InputError.
    """
    from datetime import UTC, datetime

    from scalewright.equipment import initials, line_of_text
    from scalewright.guards import overridden
    from scalewright.link.sighting import look_at
    from scalewright.procedures.job import Circumstances
    from scalewright.records.readiness import objections_to

    given = Circumstances(
        scale=arguments.scale,
        by=initials(arguments.by) if arguments.by else "",
        masses=(arguments.masses,) if arguments.masses else (),
        instruments=tuple(arguments.instrument),
        remarks=line_of_text(arguments.remarks, "--remarks") if arguments.remarks else "",
    )
    today = datetime.now(UTC).date()
    objections = objections_to(journal, given, look_at(scale), loads, limits, today, calibrates=calibrates)
    for objection in objections:
        print(f"scalewright: {objection}", file=sys.stderr)
    return replace(given, overrides=overridden(objections, _reasons(arguments.set_aside)))


def _reasons(options: Sequence[str]) -> dict[str, str]:
    reasons = {}
    for option in options:
        guard, sign, reason = option.partition("=")
        if not sign:
            raise InputError(f"--set-aside {option[:60]!a}; expected GUARD=REASON, as in scale overdue=due today")
        reasons[guard.strip()] = reason
    return reasons
