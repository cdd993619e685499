"""How long history and due list take to open with 100,000 records.

    python benchmarks/history.py [FOLDER]

An invented laboratory: SCALES scales, each calibrated once a year and checked on every working day, until there are
NUMBER entries, with every answer. Goal: within 50 ms beyond the start of the process, which is the same command on the
records of a scale that nothing was done with. Beside it the bare work: the same entries read by their numbers with
sqlite3 alone, and parsed. Processor times, so that a busy machine does not count; the shortest of several.
"""

import json
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from pathlib import Path
from random import Random
from typing import Any

from scalewright.due_list import due_list
from scalewright.equipment import RegisteredScale
from scalewright.plain import plain
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration, CalibrationResult
from scalewright.procedures.daily_check import CheckedMass, DailyCheck
from scalewright.procedures.job import Circumstances, jobs_of
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.range_check import RangeCheck, Step
from scalewright.procedures.requests import Load, PlaceLoad, StillReading, TakeStillReading
from scalewright.procedures.scale_under_test import Held
from scalewright.records.history import kept_items, read_history
from scalewright.records.journal import Addition, Journal
from scalewright.records.registers import put
from scalewright.tolerances import AccuracyClass

NUMBER = 100_000
SCALES = 20
WORKING_DAYS = 250
BEGIN = datetime(2020, 1, 2, 8, tzinfo=UTC)
LIMITS = AccuracyClass("III", Fraction(1))
HELD = Held(LIMITS)
LOADS = up_and_down(Decimal(3000), 10)
CHECK = Load(Decimal("1000.0012"), ("1000",), Decimal("0.0016"))
MULTI_POINT = MultiPoint(ScaleDesign(Decimal(3000), (1, 0), 1), LOADS, 16)
CALIBRATION = Calibration(HELD, as_found=(RangeCheck(LOADS),), adjustment=MULTI_POINT, as_left=(RangeCheck(LOADS),))
DEVICE = {"model": "virtual", "firmware": "0.1.0", "coefficients": "CAFE0001", "events": 3}


def laboratory() -> Iterator[Addition]:
    """Everything that is done, day by day, without end."""
    random = Random(5)
    day = 0
    while True:
        at = BEGIN + timedelta(days=day * 365 / WORKING_DAYS)
        for number in range(SCALES):
            if day % WORKING_DAYS == number:
                steps = tuple(Step(load.load_g, "up", load.load_g, error(random), Fraction(1)) for load in LOADS)
                yield from job(number, CALIBRATION, CalibrationResult((steps,), None, None), at, 45)
            checked = CheckedMass(CHECK.load_g, Decimal(1000), error(random), Fraction(1))
            yield from job(number, DailyCheck(HELD, (CHECK,)), (checked,), at, 5)
        day += 1


def error(random: Random) -> Fraction:
    """An error as exact as those of a curve in integers."""
    return Fraction(round(random.gauss(0, 0.1) * 2**30), 2**30)


def job(number: int, plan: Any, result: Any, at: datetime, answers: int) -> Iterator[Addition]:
    key = f"PLOVER-{number}"
    name = f"{jobs_of(key, type(plan))}{at:%Y%m%dT%H%M%SZ}-{number:08x}"
    device = DEVICE | {"serial_number": key}
    begun = {"plan": plan, "procedures_version": 2, "device": device, "procedure": type(plan).__name__}
    yield Addition("job.begun", name, plain(begun | {"circumstances": Circumstances(scale=key, by="AB")}), at)
    for n in range(answers // 2):
        for asked, answer in ((PlaceLoad.of(CHECK), None), (TakeStillReading(16), StillReading(9**9, 16, 40, n))):
            yield Addition("job.answer", name, plain({"request": asked, "answer": answer}), at)
    outcomes = [Outcome("error at 1000.0012 g", Fraction(1, 3), Fraction(1), LIMITS.source)] * (answers // 4)
    yield Addition(
        "job.ended", name, plain({"result": result, "outcomes": outcomes, "passed": True, "device": device}), at
    )


def fill(path: Path, entries: int) -> None:
    with Journal(path) as journal:
        for number in range(SCALES):
            key = f"PLOVER-{number}"
            scale = RegisteredScale(key, "virtual", key, Decimal(3000), Decimal(1), LIMITS, interval_months=12)
            put(journal, scale, "AB", "invented", BEGIN)
        additions = islice(laboratory(), entries)
        while batch := list(islice(additions, 5000)):
            journal.append_all(batch)


def shortest_ms(work: Callable[[], Any], times: int = 7) -> float:
    """Return the shortest processor time in milliseconds of several."""
    found = []
    for _ in range(times):
        begun = time.process_time()
        work()
        found.append(time.process_time() - begun)
    return min(found) * 1e3


def process_ms(words: list[str], *files: Path) -> list[float]:
    """Return the processor time of a command in processes of their own, turn by turn on each file; the shortest."""

    def spent() -> float:
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        return used.ru_utime + used.ru_stime

    found: list[list[float]] = [[] for _ in files]
    for _ in range(12):
        for times, file in zip(found, files, strict=True):
            before = spent()
            command = [sys.executable, "-m", "scalewright", *words, "--records", str(file)]
            subprocess.run(command, stdout=subprocess.DEVNULL, check=False)
            times.append(spent() - before)
    return [min(times) * 1e3 for times in found]


def bare_ms(path: Path, seqs: list[int]) -> float:
    """Read and parse the same entries, known by number."""

    def read() -> None:
        with closing(sqlite3.connect(path)) as connection:
            for seq in seqs:
                (entry,) = connection.execute("SELECT entry FROM journal WHERE seq = ?", (seq,)).fetchone()
                json.loads(entry[32:])

    return shortest_ms(read)


def main(folder: Path) -> None:
    large, small = folder / "large.sqlite", folder / "small.sqlite"
    fill(large, NUMBER)
    fill(small, 0)
    with Journal(large, read_only=True) as journal:
        history = read_history(journal, "PLOVER-3")
        names = [jobs_of("PLOVER-3", plan) for plan in (Calibration, DailyCheck)]
        entries = [entry.seq for name in names for entry in journal.entries(name, "job.ended")]
        entries += [entry.seq for entry in journal.entries(names[0], "job.begun")]
        registers = [entry.seq for entry in journal.entries(kind="register.")]
        registers += [journal.newest(1, job=jobs_of(f"PLOVER-{n}", Calibration))[0].seq for n in range(SCALES)]
        found = f"{len(history.calibrations)} calibrations, {len(history.checks)} checks"
        print(f"{journal.count()} entries, {large.stat().st_size / 1e6:.0f} MB, {SCALES} scales; one has {found}")
        opened = {
            "history": shortest_ms(lambda: read_history(journal, "PLOVER-3").charts()),
            "due": shortest_ms(lambda: due_list(kept_items(journal), date(2026, 1, 1))),
        }
    bare = {"history": bare_ms(large, entries), "due": bare_ms(large, registers)}
    for command, words in (("history", ["--scale", "PLOVER-3"]), ("due", ["--on", "2026-01-01"])):
        start, whole = process_ms([command, *words], small, large)
        print(
            f"{command:8} start {start:6.0f} ms   beyond it {whole - start:6.1f} ms (goal 50)   in one process "
            f"{opened[command]:6.1f} ms   bare reading {bare[command]:6.1f} ms   "
            f"ratio {opened[command] / bare[command]:5.2f}"
        )


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as temporary:
        main(Path(temporary))
