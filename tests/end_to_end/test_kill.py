"""kill -9 at random moments of a calibration: every answer that was acknowledged is there, and the job goes on.

SCALEWRIGHT_KILLS=200 is the full trial.
"""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from random import Random

import pytest

from scalewright.procedures.job import Job, Story, open_jobs
from scalewright.records.journal import Journal
from tests.end_to_end.killed_job import PLAN

KILLS = int(os.environ.get("SCALEWRIGHT_KILLS", "6"))
PROGRAM = Path(__file__).with_name("killed_job.py")

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork and no SIGKILL")


class Bench:
    """The program at work, and the records and the flash of its scale, which outlive it."""

    def __init__(self, folder: Path, program: "subprocess.Popen[str]") -> None:
        self.records = folder / "records.sqlite"
        self.kept = 0
        """answers of the open job that were acknowledged"""
        self.told: set[str] = set()
        """jobs that were acknowledged"""
        self.is_gone = True
        """its process has ended, or was killed"""
        self._url = f"virtual://PLOVER?speed=0&rate=80&seed=3&storage={folder / 'flash'}"
        self._program = program

    def begin(self, job: str) -> int:
        """Have a job begun (-) or gone on with, and return the id of the process."""
        assert self._program.stdin
        self._program.stdin.write(f"{self._url} {self.records} {job}\n")
        self._program.stdin.flush()
        self.is_gone = False
        return int(next(self.lines()).removeprefix("begun "))

    def lines(self, most: int | None = None) -> Iterator[str]:
        """What it says next, until its process is gone; what it acknowledges is noted."""
        assert self._program.stdout
        while not self.is_gone and (most is None or most > 0):
            line = self._program.stdout.readline().strip()
            if line.startswith("kept "):
                self.kept = int(line.removeprefix("kept "))
            elif line.startswith("job "):
                self.told.add(line.removeprefix("job "))
            elif line == "gone":
                self.is_gone = True
                break
            most = most if most is None else most - 1
            yield line

    def open_job(self) -> str:
        """Return the job that is open, having looked that nothing is lost of it; - where none is."""
        with Journal(self.records) as journal:
            assert journal.verify().holds
            assert self.told <= {entry.job for entry in journal.entries(kind="job.begun")}
            name = next(iter(open_jobs(journal)), "-")
            if name == "-":
                self.kept = 0
                return name
            job = Job.resume(journal, name)
        assert len(job.run.answered) >= self.kept
        assert job.plan == PLAN
        return name


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    words = [sys.executable, str(PROGRAM)]
    with subprocess.Popen(words, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as program:
        yield Bench(tmp_path, program)


def test_what_was_acknowledged_survives_kill_9_at_any_moment_and_the_job_goes_on(bench: Bench) -> None:
    rng, name = Random(1), "-"
    for _ in range(KILLS):
        process = bench.begin(name)
        assert "failed" not in bench.lines(rng.choice((0, 1, 2, 5, 10, 20)))
        sum(range(rng.randrange(1_000_000)))  # so that it dies anywhere in a reading, an append or a store
        if not bench.is_gone:
            with suppress(ProcessLookupError):  # it came to its end just now
                os.kill(process, signal.SIGKILL)
        assert "failed" not in bench.lines()
        name = bench.open_job()
    while name != "-":
        bench.begin(name)
        assert list(bench.lines())[-1] == "passed"
        name = bench.open_job()
    with Journal(bench.records) as journal:
        stories = [Story.of(journal.entries(job=name), name) for name in bench.told]
    for story in stories:
        assert story.end is not None and story.end["passed"] and story.withdrawn == ()
        assert story.replay().request is None
