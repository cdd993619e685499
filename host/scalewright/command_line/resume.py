"""`scalewright resume`: which jobs were broken off, and going on with one where it stands."""

import argparse
import json
from typing import TYPE_CHECKING

from scalewright.command_line.bench import add_records_arguments, outcome_line, outcomes_as_json, suspicions_as_json
from scalewright.errors import InputError

if TYPE_CHECKING:
    from scalewright.procedures.job import Job


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("job", nargs="?", help="its name; without it the open jobs are listed")
    parser.add_argument("--port", metavar="URL", help="where the scale is now")
    parser.add_argument("--repeat", type=int, default=0, metavar="N", help="take back the last N answers first")
    parser.add_argument("--leave", action="store_true", help="end the job without a result; what was found is kept")
    parser.add_argument("--why", default="", metavar="TEXT", help="the reason for --repeat or --leave")
    add_records_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """List, go on, or leave. Exit code 1 where the scale fails its tolerance."""
    from scalewright.procedures.job import Job, open_jobs
    from scalewright.records.journal import Journal

    with Journal(arguments.records) as journal:
        if arguments.job is None:
            names = open_jobs(journal)
            print(json.dumps({"open_jobs": names}) if arguments.json else "\n".join(names) or "No job is open.")
            return 0
        job = Job.resume(journal, arguments.job)
        if arguments.leave:
            job.leave(arguments.why)
            return 0
        if arguments.repeat:
            job.withdraw(arguments.repeat, arguments.why)
        return _go_on(job, arguments)


def _go_on(job: "Job", arguments: argparse.Namespace) -> int:
    from scalewright.command_line.carry_out import go_on
    from scalewright.link.scale import Scale
    from scalewright.procedures.suspicions import suspicions

    if arguments.port is None:
        raise InputError("--port is missing; expected where the scale is")
    with Scale.open(arguments.port) as scale:
        job.check_device(scale.identity.serial_number)
        go_on(scale, job)
    outcomes, found = job.run.outcomes, suspicions(job.plan, job.run)
    if arguments.json:
        result = {"job": job.name, "outcomes": outcomes_as_json(outcomes), "suspicions": suspicions_as_json(found)}
        print(json.dumps({**result, "passes": job.passed}))
    else:
        print("\n".join([*map(outcome_line, outcomes), *map(str, found), "passes" if job.passed else "FAILS"]))
    return 0 if job.passed else 1
