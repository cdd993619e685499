"""The journal on a real file: kept, in order, and believed only as far as its hashes go."""

import hashlib
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tracemalloc
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings, strategies

from scalewright.errors import RecordError
from scalewright.records import chain
from scalewright.records.journal import Entry, Head, Journal

WRITER = Path(__file__).with_name("writer.py")
KILLS = int(os.environ.get("SCALEWRIGHT_KILLS", "30"))
TRIALS = int(os.environ.get("SCALEWRIGHT_TRIALS", "1000"))
COLUMNS = ("seq", "at", "kind", "job", "body", "previous", "hash")
AT = datetime(2031, 5, 4, 12, 30, tzinfo=UTC)

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork and no SIGKILL")


def body(number: int) -> dict[str, object]:
    """An answer at an invented bench."""
    return {"load_g": f"{number * 10}.00", "counts": 100_000 + number, "temperature_c": 21.5, "note": "µ ist klein"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "bench 7#ü.sqlite"  # a name that would be something else in a URL


def filled(path: Path, number: int) -> Path:
    """A journal of `number` entries, written at one go."""
    with Journal(path) as journal:
        journal.append("job.begun", "job-0", body(0), AT)
        previous = journal.head().hash
    with closing(sqlite3.connect(path)) as connection, connection:
        for seq in range(2, number + 1):
            content = ("2031-05-04T12:30:00.000000Z", "observation", f"job-{seq % 3}", chain.canonical(body(seq)))
            new_hash = chain.digest(previous, seq, *content)
            connection.execute("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?, ?)", (seq, *content, previous, new_hash))
            previous = new_hash
    return path


def test_an_entry_is_on_disk_when_append_returns(path: Path) -> None:
    with Journal(path) as journal, closing(sqlite3.connect(path)) as other:
        entry = journal.append("calibration.begun", "job-1", {"scale": "B-7"}, AT)
        stored = other.execute("SELECT * FROM journal").fetchall()
    assert stored == [tuple(getattr(entry, name) for name in Entry.__slots__)]
    assert (entry.seq, entry.at, entry.previous) == (1, "2031-05-04T12:30:00.000000Z", "0" * 64)
    assert (entry.kind, entry.job, entry.body) == ("calibration.begun", "job-1", {"scale": "B-7"})


def test_entries_come_in_order_by_job_and_by_kind(path: Path) -> None:
    with Journal(filled(path, 10)) as journal:
        assert [entry.seq for entry in journal.entries()] == list(range(1, 11))
        assert [entry.seq for entry in journal.entries(job="job-0")] == [1, 3, 6, 9]
        assert [entry.seq for entry in journal.entries(job="job-0", kind="observation")] == [3, 6, 9]
        assert [entry.body for entry in journal.entries(kind="job.begun")] == [body(0)]


def test_the_head_is_number_and_hash_of_the_last_entry(path: Path) -> None:
    with Journal(path) as journal:
        assert journal.head() == Head(0, "0" * 64)
        entry = journal.append("observation", "job-1", body(1))
        assert journal.head() == Head(1, entry.hash)


def test_the_time_given_is_kept_in_utc(path: Path) -> None:
    with Journal(path) as journal:
        in_the_east = datetime(2031, 5, 4, 1, 15, tzinfo=timezone(timedelta(hours=5, minutes=45)))
        assert journal.append("observation", "job-1", {}, in_the_east).at == "2031-05-03T19:30:00.000000Z"


def test_without_a_time_it_is_now(path: Path) -> None:
    before = datetime.now(UTC)
    with Journal(path) as journal:
        at = datetime.fromisoformat(journal.append("observation", "job-1", {}).at)
    assert before <= at <= datetime.now(UTC)


@pytest.mark.parametrize(
    ("kind", "job", "given_body", "at", "complaint"),
    [
        ("", "job-1", {}, AT, "kind: '' is not a line of text"),
        ("observation", "two\nlines", {}, AT, r"job: 'two\\nlines' is not a line of text"),
        ("observation", "\ud800", {}, AT, r"job: '\\ud800' is not a line of text"),
        ("observation", "job-1", {"u_g": float("nan")}, AT, "body.u_g: nan is not a finite number"),
        ("observation", "job-1", {}, datetime(2031, 5, 4), "at: 2031-05-04 00:00:00 has no time zone"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_is_written(
    path: Path, kind: str, job: str, given_body: dict[str, object], at: datetime, complaint: str
) -> None:
    with Journal(path) as journal:
        with pytest.raises(RecordError, match=complaint):
            journal.append(kind, job, given_body, at)
        assert journal.head().seq == 0


def test_a_reader_in_the_middle_of_the_entries_does_not_stop_the_writer(path: Path) -> None:
    with Journal(filled(path, 3)) as journal:
        seen = [journal.append("observation", "job-9", {"of": entry.seq}).seq for entry in journal.entries()]
        assert seen == [4, 5, 6]
        assert journal.verify().entries == 6


def test_anyone_can_recompute_the_chain_with_the_documented_recipe(path: Path) -> None:
    previous = bytes(32)
    with closing(sqlite3.connect(filled(path, 20))) as connection:
        for seq, at, kind, job, text, *_, stored_hash in connection.execute("SELECT * FROM journal ORDER BY seq"):
            content = json.dumps(
                [seq, at, kind, job, json.loads(text)], sort_keys=True, separators=(",", ":"), ensure_ascii=False
            )
            previous = hashlib.sha256(previous + content.encode()).digest()
            assert stored_hash == previous.hex()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE journal SET body = '{}' WHERE seq = 2",
        "UPDATE journal SET seq = 9 WHERE seq = 3",
        "DELETE FROM journal",
        "INSERT OR REPLACE INTO journal SELECT 2, at, kind, job, '{}', previous, hash FROM journal WHERE seq = 2",
        "INSERT INTO journal SELECT 0, at, kind, job, body, previous, hash FROM journal WHERE seq = 1",
    ],
)
def test_the_file_itself_refuses_every_change_but_adding_at_the_end(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(filled(path, 3))) as connection:
        before = connection.execute("SELECT * FROM journal").fetchall()
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            connection.execute(statement)
        assert connection.execute("SELECT * FROM journal").fetchall() == before


class Tamperer:
    """A journal whose guards somebody took off, and what it was before."""

    def __init__(self, path: Path, journal: Journal) -> None:
        self.journal = journal
        self.connection = sqlite3.connect(path, isolation_level=None)
        for name in ("journal_no_update", "journal_no_delete", "journal_no_replace"):
            self.connection.execute(f"DROP TRIGGER {name}")
        self.connection.execute("PRAGMA synchronous = OFF")
        self.rows: list[chain.Row] = self.connection.execute("SELECT * FROM journal").fetchall()
        self.head = self.rows[-1][6]

    def write(self, rows: list[chain.Row]) -> None:
        """Make these the rows of the journal, numbered from 1."""
        self.connection.execute("BEGIN")
        self.connection.execute("DELETE FROM journal")
        numbered = [(seq, *row[1:]) for seq, row in enumerate(rows, 1)]
        self.connection.executemany("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?, ?)", numbered)
        self.connection.execute("COMMIT")

    def find(self) -> chain.Verification:
        """What verification finds in the file as it is now."""
        return self.journal.verify(self.head)


@pytest.fixture(scope="module")
def tamperer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tamperer]:
    path = filled(tmp_path_factory.mktemp("tampered") / "records.sqlite", 8)
    with Journal(path, read_only=True) as journal:
        tamperer = Tamperer(path, journal)
        with closing(tamperer.connection):
            yield tamperer


@settings(max_examples=TRIALS // 2, deadline=None)
@given(
    seq=strategies.integers(1, 8),
    column=strategies.sampled_from(COLUMNS[1:]),
    place=strategies.integers(0),
    byte=strategies.integers(0, 255),
)
def test_any_changed_byte_of_any_entry_is_found(
    tamperer: Tamperer, seq: int, column: str, place: int, byte: int
) -> None:
    text = bytearray(str(tamperer.rows[seq - 1][COLUMNS.index(column)]).encode())
    place %= len(text)
    text[place] = byte if text[place] != byte else byte ^ 1
    tamperer.write(tamperer.rows)
    change = f"UPDATE journal SET {column} = CAST(? AS TEXT) WHERE seq = ?"
    tamperer.connection.execute(change, (bytes(text), seq))
    found = tamperer.find()
    assert (found.seq, found.reason, found.entries) == (seq, "changed", seq - 1)


@pytest.mark.parametrize("seq", range(1, 9))
@pytest.mark.parametrize("new_seq", [-1, 0, 9, 2**62])
def test_a_changed_number_is_found(tamperer: Tamperer, seq: int, new_seq: int) -> None:
    tamperer.write(tamperer.rows)
    tamperer.connection.execute("UPDATE journal SET seq = ? WHERE seq = ?", (new_seq, seq))
    found = tamperer.find()
    if (seq, new_seq) == (8, 9):
        assert (found.seq, found.reason) == (8, "missing")
    else:
        assert (found.seq, found.reason) == ((seq, "missing") if new_seq > 0 else (new_seq, "inserted"))


def forged(previous: str, seq: int, rng: random.Random) -> chain.Row:
    """An entry that never was, with the hash that belongs to it."""
    content = ("2031-05-04T12:30:00.000000Z", "observation", "job-1", chain.canonical(body(rng.randrange(10**6))))
    return (seq, *content, previous, chain.digest(previous, seq, *content))


def test_removal_swap_insertion_and_duplication_are_found_and_named(tamperer: Tamperer) -> None:
    rng = random.Random(20310504)
    rows = tamperer.rows
    reasons = {"missing": 0, "swapped": 0, "inserted": 0, "rewritten": 0}
    for _ in range(TRIALS):
        i, j = sorted(rng.sample(range(len(rows)), 2))
        tampered, expected = rng.choice(
            [
                ([*rows[:i], *rows[i + 1 :]], (i + 1, "missing")),
                ([*rows[:i], rows[j], *rows[i + 1 : j], rows[i], *rows[j + 1 :]], (i + 1, "swapped")),
                ([*rows[:i], rows[j], *rows[i:]], (i + 1, "inserted")),
                ([*rows[:j], rows[i], *rows[j:]], (j + 1, "inserted")),
                ([*rows[:i], forged(rows[i][5], i + 1, rng), *rows[i:]], (i + 1, "inserted")),
                ([*rows[:i], forged("0" * 64, 0, rng), *rows[i:]], (i + 1, "inserted")),
                (rows[: i + 1], (None, "rewritten")),
                ([*rows[:j], forged(rows[j][5], j + 1, rng)], (None, "rewritten")),
            ]
        )
        tamperer.write(tampered)
        found = tamperer.find()
        assert (found.seq, found.reason) == expected
        reasons[found.reason] += 1
    assert min(reasons.values()) > TRIALS / 20
    tamperer.write(rows)
    assert tamperer.find().holds


def outcome(path: Path, head: str) -> tuple[bool, list[Entry]]:
    """Whether verification finds nothing wrong, and what a reader is then shown."""
    try:
        with Journal(path, read_only=True) as journal:
            return journal.verify(head).holds, list(journal.entries())
    except RecordError:
        return False, []


def test_a_flipped_byte_anywhere_in_the_file_is_found_or_makes_no_difference(path: Path, tmp_path: Path) -> None:
    rng = random.Random(20310504)
    with Journal(filled(path, 30), read_only=True) as journal:
        before, head = list(journal.entries()), journal.head().hash
    data = path.read_bytes()
    bodies = [data.index(entry.body_json.encode()) for entry in before]
    damaged = tmp_path / "damaged.sqlite"
    for trial in range(TRIALS // 5):
        place = rng.choice(bodies) + rng.randrange(80) if trial % 2 else rng.randrange(len(data))
        flipped = data[place] ^ rng.randrange(1, 256)
        damaged.write_bytes(data[:place] + bytes([flipped]) + data[place + 1 :])
        holds, shown = outcome(damaged, head)
        assert not holds or (shown == before and not trial % 2), f"byte {place} became {flipped}"


def test_a_damaged_entry_can_be_listed_and_says_so_when_its_body_is_read(path: Path) -> None:
    with closing(sqlite3.connect(filled(path, 3))) as connection, connection:
        connection.execute("DROP TRIGGER journal_no_update")
        connection.execute("UPDATE journal SET body = CAST(x'7bff' AS TEXT) WHERE seq = 2")
    with Journal(path, read_only=True) as journal:
        damaged = list(journal.entries())[1]
        assert damaged.body_json == "{\udcff"
        with pytest.raises(RecordError, match="entry 2 is damaged"):
            _ = damaged.body


def test_verification_takes_no_more_memory_for_a_longer_journal(tmp_path: Path) -> None:
    peaks = []
    for number in (1000, 4000):
        with Journal(filled(tmp_path / f"{number}.sqlite", number), read_only=True) as journal:
            journal.verify()
            tracemalloc.start()
            assert journal.verify().entries == number
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
    assert peaks[1] < 1.1 * peaks[0]


class Writer:
    """The program that appends, running."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, str(WRITER)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def order(self, path: Path, number: int) -> int:
        """Have it append, and return the id of the process that does so."""
        assert self.process.stdin
        self.process.stdin.write(f"{path} {number}\n")
        self.process.stdin.flush()
        return int(self.line().removeprefix("begun "))

    def line(self) -> str:
        assert self.process.stdout
        return self.process.stdout.readline().strip()

    def rest(self) -> list[str]:
        """What it still says until its process has ended."""
        return list(iter(self.line, "ended"))

    def close(self) -> None:
        assert self.process.stdin and self.process.stdout
        self.process.stdin.close()
        self.process.wait()
        self.process.stdout.close()


@needs_fork
def test_what_was_acknowledged_survives_kill_9_at_any_moment(tmp_path: Path) -> None:
    rng = random.Random(20310504)
    acknowledged: dict[Path, set[str]] = {tmp_path / f"{i}.sqlite": set() for i in range(max(1, KILLS // 3))}
    with closing(Writer()) as writer:
        for _ in range(KILLS):
            path = rng.choice(list(acknowledged))
            pid = writer.order(path, 1_000_000)
            acknowledged[path].update(writer.line() for _ in range(rng.choice((0, 0, 1, 2, 5, 10))))
            sum(range(rng.randrange(200_000)))  # so that it dies anywhere in an append, or while it makes the file
            os.kill(pid, signal.SIGKILL)
            acknowledged[path].update(writer.rest())
            with Journal(path) as journal:
                assert journal.verify().holds
                assert acknowledged[path] <= {f"{entry.seq} {entry.hash}" for entry in journal.entries()}
    assert sum(map(len, acknowledged.values())) > KILLS


@needs_fork
def test_two_processes_at_once_make_one_chain(path: Path) -> None:
    with closing(Writer()) as one, closing(Writer()) as other:
        pids = {one.order(path, 100), other.order(path, 100)}
        acknowledged = {*one.rest(), *other.rest()}
    with Journal(path, read_only=True) as journal:
        assert journal.verify().entries == 200
        assert acknowledged == {f"{entry.seq} {entry.hash}" for entry in journal.entries()}
        assert {entry.job for entry in journal.entries()} == {f"writer-{pid}" for pid in pids}


def test_a_copy_of_a_closed_journal_is_one_file_that_holds(path: Path, tmp_path: Path) -> None:
    filled(path, 5)
    assert [file.name for file in tmp_path.iterdir()] == [path.name]
    with Journal(shutil.copy(path, tmp_path / "copy.sqlite"), read_only=True) as journal:
        assert journal.verify().entries == 5
