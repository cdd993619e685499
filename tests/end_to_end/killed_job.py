"""Works through calibrations on the virtual scale until it is killed; started by the test as a program of its own.

Reads lines "URL RECORDS JOB"; JOB is - to begin one. For each, a process of its own prints "begun PID", "job NAME",
"kept N" as soon as the Nth answer that counts is on disk, and "passed" or "failed"; then this program prints "gone".
"""

import os
import sys
from decimal import Decimal
from fractions import Fraction

import sqlalchemy.dialects.sqlite  # noqa: F401  loaded once here, not in every process
from serial import serial_for_url

from scalewright.link.scale import Scale
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.eccentricity import EccentricityTest, places_for
from scalewright.procedures.job import Job
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.perform import perform_job
from scalewright.procedures.preparation import Preparation
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.requests import Answer, Load, Request
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.records.journal import Journal
from scalewright.tolerances import AccuracyClass

LOADS = up_and_down(Decimal(3000), 3)
TESTS = RangeCheck(LOADS), EccentricityTest(Load(Decimal(1000)), places_for("rectangular", 4))
PLAN = Calibration(
    Held(AccuracyClass("III", Fraction(1)), readings=4),
    Preparation(("look whether the scale is level",), warm_up_s=2, exercise=Load(Decimal(3000))),
    as_found=TESTS,
    adjustment=MultiPoint(ScaleDesign(Decimal(3000), (1, 0), 3), LOADS, 8),
    as_left=TESTS,
)


def tell(line: str) -> None:
    os.write(1, f"{line}\n".encode())


def work(url: str, records: str, name: str) -> None:
    tell(f"begun {os.getpid()}")
    with Journal(records) as journal, Scale.open(url) as scale:
        job = Job.begin(journal, PLAN, scale.identity) if name == "-" else Job.resume(journal, name)
        job.check_device(scale.identity.serial_number)
        tell(f"job {job.name}")

        def keep(request: Request, answer: Answer, accepted: str) -> None:
            job.keep(request, answer, accepted)
            tell(f"kept {len(job.run.answered) + 1}")

        perform_job(job, scale, VirtualHand(scale), keep, is_resumed=name != "-")
        job.end(scale.identity)
        tell("passed" if job.passed else "failed")


def main() -> None:
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            work(*line.split())
            os._exit(0)
        os.waitpid(child, 0)
        tell("gone")


if __name__ == "__main__":
    serial_for_url("virtual://warm").close()  # its modules too are loaded once
    main()
