"""Records of an invented bench: real procedures on virtual scales, into a real journal, dated as if over two years."""

import sqlite3
from atexit import register
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from shutil import rmtree
from tempfile import mkdtemp
from typing import Any

from scalewright.composition import compose
from scalewright.equipment import Certificate, DeviceState, Instrument, MassSet, Piece, RegisteredScale
from scalewright.link.scale import Scale
from scalewright.link.sighting import look_at
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.daily_check import DailyCheck
from scalewright.procedures.job import Circumstances, Job, Override
from scalewright.procedures.perform import perform_job
from scalewright.procedures.plans import Plan
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.requests import Answer, Request
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.records.journal import Entry, Journal
from scalewright.records.registers import put
from scalewright.tolerances import AccuracyClass

TODAY = date(2027, 3, 15)
FIRST = date(2026, 2, 10)
CHECKS = 30
"""daily checks; the scale has begun to drift before the last few of them"""
CLASS_III = AccuracyClass("III", Fraction(1))
PLOVER = RegisteredScale(
    "PLOVER", "virtual", "PLV-0042", Decimal(3000), Decimal(1), CLASS_III, Decimal(20), "own bench",
    "goods in, table 2", interval_months=12,
)  # fmt: skip
WIGEON = replace(PLOVER, key="WIGEON", serial_number="WGN-0007", place="packing", calibrated=date(2026, 2, 20))
TERN = replace(PLOVER, key="TERN", serial_number="TRN-0100", place="store", calibrated=date(2026, 4, 2))
PAPER = Certificate("SM-25-0311", "invented laboratory", date(2025, 6, 3), date(2027, 6, 3))


def piece(name: str, value: str, u: str) -> Piece:
    return Piece(name, Decimal(name.rstrip("*")), Decimal(value), Decimal(u), weight_class="F2")


BOX = MassSet(
    "BOX-F2", (piece("500", "500.0021", "0.0080"), piece("1000", "999.9963", "0.0160"),
               piece("2000", "2000.0110", "0.0300")), PAPER, "EB-M-2",
)  # fmt: skip
BLOCKS = MassSet("BLOCKS-M1", (Piece("5000", Decimal(5000), weight_class="M1"),), replace(PAPER, due=date(2026, 12, 1)))
CHECK_MASS = MassSet("CHECK", (Piece("1000*", Decimal(1000), weight_class="M1"),))
THERMOMETER = Instrument("T-1", "thermometer", Decimal("0.3"), certificate=PAPER)


@dataclass(frozen=True)
class Dated:
    """A journal whose entries are of one day, so that a test can make years of them; jobs are named by that day too."""

    journal: Journal
    at: datetime

    def append(self, kind: str, job: str, body: dict[str, Any]) -> Entry:
        scale_and_plan = job.rpartition(":")[0]
        return self.journal.append(kind, f"{scale_and_plan}:{self.at:%Y%m%dT%H%M%SZ}-00000000", body, self.at)

    def entries(self, job: str | None = None, kind: str | None = None) -> Iterator[Entry]:
        return self.journal.entries(job, kind)


class _Interrupted(Exception):
    """Somebody pulls the plug."""


def moment(day: date) -> datetime:
    return datetime.combine(day, time(8, 30), UTC)


def calibration(*, adjusts: bool) -> Calibration:
    up = [compose(BOX, Decimal(nominal)) for nominal in ("0", "500", "1000", "1500", "2500", "3000")]
    loads = (*up, *reversed(up[:-1]))
    adjustment = MultiPoint(ScaleDesign(Decimal(3000), (1, 0), 2), loads, 4) if adjusts else None
    tests = (RangeCheck(loads),)
    return Calibration(Held(CLASS_III, readings=4), as_found=tests, adjustment=adjustment, as_left=tests)


def check() -> DailyCheck:
    return DailyCheck(Held(CLASS_III, in_service=True, readings=4), (compose(CHECK_MASS, Decimal(1000)),))


def seen(scale: Scale, day: date) -> DeviceState:
    return replace(look_at(scale), at=f"{day}T08:30:00.000000Z")


def do(journal: Journal, day: date, scale: Scale, plan: Plan, told: Circumstances, answers: int | None = None) -> Job:
    """Carry a job out on a day; answers: after so many the plug is pulled, and the job stays open."""
    job = Job.begin(Dated(journal, moment(day)), plan, seen(scale, day), told)

    def keep(request: Request, answer: Answer, why: str) -> None:
        if len(job.run.answered) == answers:
            raise _Interrupted
        job.keep(request, answer, why)

    try:
        perform_job(job, scale, VirtualHand(scale), keep)
    except _Interrupted:
        return job
    job.end(seen(scale, day))
    return job


def _fill(journal: Journal) -> None:
    early = moment(date(2025, 1, 20))
    paper = replace(PAPER, number="SM-23-0107", on=date(2023, 6, 1), due=date(2025, 6, 1))
    before = replace(BOX, certificate=paper, pieces=(piece("500", "500.0035", "0.0080"), *BOX.pieces[1:]))
    put(journal, before, "KM", "first registered", early)
    for item in (PLOVER, WIGEON, TERN, BOX, BLOCKS, CHECK_MASS, THERMOMETER):
        put(journal, item, "KM", "new certificate" if item is BOX else "first registered", moment(date(2025, 6, 10)))
    aside = Override("mass overdue", "mass set BLOCKS-M1 was due on 2026-12-01", "the first day it could be spared")
    plover = Circumstances("PLOVER", "KM", ("BOX-F2",), ("T-1",), (), "came back from cleaning")
    with Scale.open("virtual://PLV-0042?speed=0&seed=3") as scale:
        do(journal, FIRST, scale, calibration(adjusts=True), plover)
        for n in range(CHECKS):
            if n == CHECKS - 6:
                scale.ask("VIRTual:MASS 1000*,0.35")
            do(journal, FIRST + timedelta(7 * (n + 1)), scale, check(), replace(plover, by="TS", masses=("CHECK",)))
        scale.ask("VIRTual:CELL rated_output_mv_per_v,2.0009")
        do(journal, date(2027, 2, 8), scale, calibration(adjusts=True), replace(plover, overrides=(aside,)))
    with Scale.open("virtual://WGN-0007?speed=0&seed=5") as scale:
        wigeon = Circumstances("WIGEON", "TS", ("BOX-F2",))
        do(journal, date(2027, 3, 10), scale, calibration(adjusts=True), wigeon, answers=12)
        left = do(journal, date(2027, 3, 11), scale, calibration(adjusts=True), wigeon, answers=9)
        left.leave("the hall was too draughty")


@cache
def laboratory() -> Path:
    """Return the records, made once a process. What changes them works on a copy."""
    folder = mkdtemp(prefix="scalewright_")
    register(rmtree, folder)
    path = Path(folder) / "records.sqlite"
    with Journal(path) as journal:
        _fill(journal)
    return path


def copy_to(folder: Path) -> Path:
    """Return a copy of the records in a folder of the test."""
    path = folder / "records.sqlite"
    with closing(sqlite3.connect(laboratory())) as source, closing(sqlite3.connect(path)) as target:
        source.backup(target)
    return path


