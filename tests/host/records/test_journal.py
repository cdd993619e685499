"""The journal in a real file and on a real server: kept, in order, one chain whoever writes, found by kind and job."""

import hashlib
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings, strategies

from scalewright.errors import RecordError
from scalewright.records.journal import Addition, Entry, Head, Journal

WRITER = Path(__file__).with_name("writer.py")
KILLS = int(os.environ.get("SCALEWRIGHT_KILLS", "15"))
AT = datetime(2031, 5, 4, 12, 30, tzinfo=UTC)

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork and no SIGKILL")


def body(number: int) -> dict[str, object]:
    """An answer at an invented bench."""
    return {"load_g": f"{number * 10}.00", "counts": 100_000 + number, "temperature_c": 21.5, "note": "µ ist klein"}


def filled(address: str, number: int) -> str:
    """A journal of `number` entries."""
    with Journal(address) as journal:
        journal.append("job.begun", "job-0", body(0), AT)
        journal.append_all(Addition("observation", f"job-{seq % 3}", body(seq), AT) for seq in range(2, number + 1))
    return address


def test_an_entry_is_kept_when_append_returns(address: str) -> None:
    with Journal(address) as journal, Journal(address, read_only=True) as other:
        entry = journal.append("calibration.begun", "job-1", {"scale": "B-7"}, AT)
        assert list(other.entries()) == [entry]
    assert (entry.seq, entry.at, entry.previous) == (1, "2031-05-04T12:30:00.000000Z", "0" * 64)
    assert (entry.kind, entry.job, entry.body) == ("calibration.begun", "job-1", {"scale": "B-7"})


def test_several_entries_are_added_together_or_not_at_all(address: str) -> None:
    with Journal(address) as journal:
        good, bad = Addition("observation", "job-1", {}), Addition("observation", "job-1", {"u_g": float("inf")})
        assert [entry.seq for entry in journal.append_all([good, good])] == [1, 2]
        with pytest.raises(RecordError, match="inf is not a finite number"):
            journal.append_all([good, bad])
        assert journal.append_all([]) == []
        assert journal.verify().entries == 2


def test_entries_come_in_order_by_job_and_by_kind(address: str) -> None:
    with Journal(filled(address, 10)) as journal:
        assert [entry.seq for entry in journal.entries()] == list(range(1, 11))
        assert [entry.seq for entry in journal.entries(job="job-0")] == [1, 3, 6, 9]
        assert [entry.seq for entry in journal.entries(job="job-0", kind="observation")] == [3, 6, 9]
        assert [entry.body for entry in journal.entries(kind="job.begun")] == [body(0)]


def test_the_head_is_number_and_hash_of_the_last_entry(address: str) -> None:
    with Journal(address) as journal:
        assert journal.head() == Head(0, "0" * 64)
        entry = journal.append("observation", "job-1", body(1))
        assert journal.head() == Head(1, entry.hash)


def test_the_time_given_is_kept_in_utc(address: str) -> None:
    with Journal(address) as journal:
        in_the_east = datetime(2031, 5, 4, 1, 15, tzinfo=timezone(timedelta(hours=5, minutes=45)))
        assert journal.append("observation", "job-1", {}, in_the_east).at == "2031-05-03T19:30:00.000000Z"


def test_without_a_time_it_is_now(address: str) -> None:
    before = datetime.now(UTC)
    with Journal(address) as journal:
        at = datetime.fromisoformat(journal.append("observation", "job-1", {}).at)
    assert before <= at <= datetime.now(UTC)


@pytest.mark.parametrize(
    ("kind", "job", "given_body", "at", "complaint"),
    [
        ("", "job-1", {}, AT, "kind: '' is not a line of text"),
        ("observation", "two\nlines", {}, AT, r"job: 'two\\nlines' is not a line of text"),
        ("observation", "\ud800", {}, AT, r"job: '\\ud800' is not a line of text"),
        ("observation.", "job-1", {}, AT, "kind: 'observation.' ends with a dot"),
        ("observation", "PLOVER-3:", {}, AT, "job: 'PLOVER-3:' ends with a colon"),
        ("observation", "job-1", {"u_g": float("nan")}, AT, "body.u_g: nan is not a finite number"),
        ("observation", "job-1", {}, datetime(2031, 5, 4), "at: 2031-05-04 00:00:00 has no time zone"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_is_written(
    address: str, kind: str, job: str, given_body: dict[str, object], at: datetime, complaint: str
) -> None:
    with Journal(address) as journal:
        with pytest.raises(RecordError, match=complaint):
            journal.append(kind, job, given_body, at)
        assert journal.head().seq == 0


def test_a_reader_in_the_middle_of_the_entries_does_not_stop_the_writer(address: str) -> None:
    with Journal(filled(address, 3)) as journal:
        seen = [journal.append("observation", "job-9", {"of": entry.seq}).seq for entry in journal.entries()]
        assert seen == [4, 5, 6]
        assert journal.verify().entries == 6


def test_anyone_can_recompute_the_chain_with_the_documented_recipe(tmp_path: Path) -> None:
    path = filled(str(tmp_path / "records.sqlite"), 20)
    previous = bytes(32)
    with closing(sqlite3.connect(path)) as connection:
        for number, (entry, stored_hash) in enumerate(connection.execute("SELECT entry, hash FROM journal"), 1):
            content = json.loads(entry[32:])
            text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
            previous = hashlib.sha256(previous + text.encode()).digest()
            assert (stored_hash, content[0]) == (previous, number)


ODD = ["job-1", "job-10:a", "job-1:a", "job-1:b:c", "job-1;", 'a "quoted" \\ name', "ü/%_'", "ü/%_':b"]
KINDS = ["register.scale", "register.mass", "register/other", "observation", "registers"]


def model(entries: list[Entry], kind: str | None, job: str | None) -> list[Entry]:
    """The same selection in one line."""

    def fits(name: str, wanted: str | None, sign: str) -> bool:
        return wanted is None or name == wanted or (wanted.endswith(sign) and name.startswith(wanted))

    return [e for e in entries if fits(e.job, job, ":") and fits(e.kind, kind, ".")]


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    added=strategies.lists(
        strategies.tuples(strategies.sampled_from(KINDS), strategies.sampled_from(ODD)), max_size=12
    ),
    kind=strategies.sampled_from([None, "register.", *KINDS]),
    job=strategies.sampled_from([None, "job-1:", "ü/%_':", *ODD]),
)
def test_what_is_asked_for_is_what_a_look_at_every_entry_finds(
    address: str, added: list[tuple[str, str]], kind: str | None, job: str | None
) -> None:
    with Journal(address) as journal:  # it grows from example to example
        journal.append_all(Addition(kind, job, {"n": n}, AT) for n, (kind, job) in enumerate(added))
        entries = list(journal.entries())
        expected = model(entries, kind, job)
        assert list(journal.entries(job=job, kind=kind)) == expected
        assert journal.count(job=job, kind=kind) == len(expected)
        assert journal.newest(3, kind=kind, job=job) == expected[::-1][:3]
        assert journal.newest(2, kind=kind, job=job, before=6) == [e for e in expected[::-1] if e.seq < 6][:2]
        assert journal.jobs(kind) == list(dict.fromkeys(e.job for e in model(entries, kind, None)))
        newest = {e.job: e.seq for e in model(entries, kind or "register.", None)}
        assert [e.seq for e in journal.latest(kind or "register.")] == sorted(newest.values())
        assert journal.verify().entries == len(entries)


def test_entries_that_mention_a_value_are_found_by_it(address: str) -> None:
    with Journal(address) as journal:
        for scale in ("PLOVER-1", 'the "old" one', "PLOVER-11", "Grüße"):
            journal.append("job.begun", f"of {scale}", {"circumstances": {"scale": scale}})
        for scale in ("PLOVER-1", 'the "old" one', "Grüße"):
            found = [entry.body["circumstances"] for entry in journal.entries(kind="job.begun", mentions=scale)]
            assert found == [{"scale": scale}]


class Writer:
    """The program that appends, running."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, str(WRITER)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def order(self, records: str | Path, number: int, writers: int = 1) -> None:
        """Have so many processes append."""
        assert self.process.stdin
        self.process.stdin.write(f"{records} {number} {writers}\n")
        self.process.stdin.flush()

    def line(self) -> str:
        assert self.process.stdout
        return self.process.stdout.readline().strip()

    def rest(self) -> list[str]:
        """What it still says until its processes have ended."""
        return list(iter(self.line, "ended"))

    def close(self) -> None:
        assert self.process.stdin and self.process.stdout
        self.process.stdin.close()
        self.process.wait()
        self.process.stdout.close()


@pytest.fixture(scope="module")
def writer() -> Iterator[Writer]:
    with closing(Writer()) as writer:
        yield writer


@needs_fork
def test_what_was_acknowledged_survives_kill_9_at_any_moment(tmp_path: Path, writer: Writer) -> None:
    rng = random.Random(20310504)
    acknowledged: dict[Path, set[str]] = {tmp_path / f"{i}.sqlite": set() for i in range(max(1, KILLS // 3))}
    for _ in range(KILLS):
        path = rng.choice(list(acknowledged))
        writer.order(path, 1_000_000)
        pid = int(writer.line().removeprefix("begun "))
        acknowledged[path].update(writer.line() for _ in range(rng.choice((0, 0, 1, 2, 5, 10))))
        sum(range(rng.randrange(200_000)))  # so that it dies anywhere in an append, or while it makes the file
        os.kill(pid, signal.SIGKILL)
        acknowledged[path].update(writer.rest())
        with Journal(path) as journal:
            assert journal.verify().holds
            assert acknowledged[path] <= {f"{entry.seq} {entry.hash}" for entry in journal.entries()}
    assert sum(map(len, acknowledged.values())) > KILLS


@needs_fork
def test_four_processes_at_once_make_one_chain(address: str, writer: Writer) -> None:
    writer.order(address, 25, writers=4)
    said = writer.rest()
    pids = {line.removeprefix("begun ") for line in said if line.startswith("begun ")}
    with Journal(address, read_only=True) as journal:
        assert journal.verify().entries == 100
        assert {f"{entry.seq} {entry.hash}" for entry in journal.entries()} == {*said} - {
            f"begun {pid}" for pid in pids
        }
        assert {entry.job for entry in journal.entries()} == {f"writer-{pid}" for pid in pids}
        assert len(pids) == 4


def test_a_copy_of_a_closed_journal_is_one_file_that_holds(tmp_path: Path) -> None:
    path = Path(filled(str(tmp_path / "records.sqlite"), 5))
    assert [file.name for file in tmp_path.iterdir()] == [path.name]
    with Journal(shutil.copy(path, tmp_path / "copy.sqlite"), read_only=True) as journal:
        assert journal.verify().entries == 5
