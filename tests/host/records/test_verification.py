"""Verification of a real file: whatever is done to it behind the journal's back is found, and the first entry named."""

import os
import random
import sqlite3
import tracemalloc
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given, settings, strategies

from scalewright.errors import RecordError
from scalewright.records import chain
from scalewright.records.journal import Addition, Entry, Journal

TRIALS = int(os.environ.get("SCALEWRIGHT_TRIALS", "200"))


def body(number: int) -> dict[str, object]:
    """An answer at an invented bench."""
    return {"load_g": f"{number * 10}.00", "counts": 100_000 + number, "temperature_c": 21.5, "note": "µ ist klein"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "records.sqlite"


def filled(path: Path, number: int) -> Path:
    """A journal of `number` entries, two by two of another job."""
    with Journal(path) as journal:
        journal.append_all(Addition("observation", f"job-{seq // 2 % 4}", body(seq)) for seq in range(number))
    return path


class Tamperer:
    """A journal whose guards somebody took off, and what it was before."""

    def __init__(self, path: Path, journal: Journal) -> None:
        self.journal = journal
        self.connection = sqlite3.connect(path, isolation_level=None)
        for table in ("journal", "run"):
            for change in ("update", "delete", "replace"):
                self.connection.execute(f"DROP TRIGGER {table}_no_{change}")
        self.connection.execute("PRAGMA synchronous = OFF")
        self.rows: list[chain.Row] = self.connection.execute("SELECT * FROM journal").fetchall()
        self.runs: list[tuple[int, str, str]] = self.connection.execute("SELECT * FROM run").fetchall()
        self.head = self.rows[-1][2].hex()

    def write(self, rows: list[chain.Row]) -> None:
        """Make these the rows of the journal, numbered from 1."""
        self.fill("journal", [(seq, *row[1:]) for seq, row in enumerate(rows, 1)])

    def fill(self, table: str, rows: Sequence[tuple[object, ...]]) -> None:
        """Make these the rows of a table."""
        self.connection.execute("BEGIN")
        self.connection.execute(f"DELETE FROM {table}")
        self.connection.executemany(f"INSERT INTO {table} VALUES (?, ?, ?)", rows)
        self.connection.execute("COMMIT")

    def find(self) -> chain.Verification:
        """What verification finds in the file as it is now."""
        return self.journal.verify(self.head)


GUARDED = (
    "UPDATE journal SET entry = x'' WHERE seq = 2",
    "UPDATE journal SET seq = 9 WHERE seq = 3",
    "DELETE FROM journal",
    "INSERT OR REPLACE INTO journal SELECT 2, x'', hash FROM journal WHERE seq = 2",
    "INSERT INTO journal SELECT 0, entry, hash FROM journal WHERE seq = 1",
    "UPDATE run SET job = '\"another\"'",
    "DELETE FROM run WHERE first = 1",
    "INSERT OR REPLACE INTO run VALUES (1, '\"observation\"', '\"another\"')",
)


@pytest.mark.parametrize("statement", GUARDED)
def test_the_file_itself_refuses_every_change_but_adding_at_the_end(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(filled(path, 3))) as connection:
        tables = "SELECT * FROM journal", "SELECT * FROM run"
        before = [connection.execute(table).fetchall() for table in tables]
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            connection.execute(statement)
        assert [connection.execute(table).fetchall() for table in tables] == before


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
    column=strategies.sampled_from(["entry", "hash"]),
    place=strategies.integers(0),
    byte=strategies.integers(0, 255),
)
def test_any_changed_byte_of_any_entry_is_found(
    tamperer: Tamperer, seq: int, column: str, place: int, byte: int
) -> None:
    stored = bytearray(tamperer.rows[seq - 1][1 if column == "entry" else 2])
    place %= len(stored)
    stored[place] = byte if stored[place] != byte else byte ^ 1
    tamperer.write(tamperer.rows)
    tamperer.connection.execute(f"UPDATE journal SET {column} = ? WHERE seq = ?", (bytes(stored), seq))
    found = tamperer.find()
    assert (found.seq, found.reason, found.entries) == (seq, "changed", seq - 1)


@settings(max_examples=TRIALS // 4, deadline=None)
@given(
    which=strategies.integers(0, 3),
    column=strategies.sampled_from(["kind", "job"]),
    place=strategies.integers(0),
    byte=strategies.integers(1, 127),
)
def test_any_changed_byte_of_where_entries_are_filed_is_found(
    tamperer: Tamperer, which: int, column: str, place: int, byte: int
) -> None:
    first, *filed = tamperer.runs[which]
    text = bytearray(filed[column == "job"].encode())
    place %= len(text)
    text[place] = byte if text[place] != byte else byte ^ 1
    tamperer.write(tamperer.rows)
    tamperer.fill("run", tamperer.runs)
    tamperer.connection.execute(f"UPDATE run SET {column} = ? WHERE first = ?", (text.decode(), first))
    found = tamperer.find()
    tamperer.fill("run", tamperer.runs)
    assert (found.seq, found.reason, found.entries) == (first, "misfiled", 8)


def test_a_run_that_is_removed_moved_or_added_is_found(tamperer: Tamperer) -> None:
    tamperer.write(tamperer.rows)
    first, second, *others = tamperer.runs
    tampered = [
        (tamperer.runs[1:], 1),
        ([first, *others], second[0]),
        ([first, (second[0] + 1, *second[1:]), *others[1:]], second[0]),
        ([(-5, *first[1:]), second, *others], None),
        ([*tamperer.runs, (99, '"kind"', '"job"')], None),
        ([*tamperer.runs[:-1], (tamperer.runs[-1][0], '"observation"', '"another"')], tamperer.runs[-1][0]),
        ([], 1),
    ]
    for runs, seq in tampered:
        tamperer.fill("run", runs)
        found = tamperer.find()
        assert (found.reason, found.seq, found.entries) == ("misfiled", seq, 8), runs
        assert found.detail.endswith("a backup of these records is right again")
    tamperer.fill("run", tamperer.runs)
    assert tamperer.find().holds


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


def forged(previous: bytes, seq: int, rng: random.Random) -> chain.Row:
    """An entry that never was, with the hash that belongs to it."""
    said = chain.Content(
        "2031-05-04T12:30:00.000000Z", "observation", "job-1", chain.canonical(body(rng.randrange(10**6)))
    )
    return chain.link(previous, seq, said)


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
                ([*rows[:i], forged(rows[i][1][:32], i + 1, rng), *rows[i:]], (i + 1, "inserted")),
                ([*rows[:i], forged(bytes(32), 0, rng), *rows[i:]], (i + 1, "inserted")),
                (rows[: i + 1], (None, "rewritten")),
                ([*rows[:j], forged(rows[j][1][:32], j + 1, rng)], (None, "rewritten")),
            ]
        )
        tamperer.write(tampered)
        found = tamperer.find()
        assert (found.seq, found.reason) == expected
        reasons[found.reason] += 1
    assert min(reasons.values()) > TRIALS / 20
    tamperer.write(rows)
    assert tamperer.find().holds


Shown = list[list[Entry]]


def shown(journal: Journal) -> Shown:
    """Everything that can be read, by every way there is."""
    by_job = [list(journal.entries(job=job)) for job in ("job-0", "job-1", "job-2", "job-3")]
    by_kind = [list(journal.entries(kind="observation")), list(journal.latest("observation")), journal.newest(5)]
    return [list(journal.entries()), *by_job, *by_kind]


def outcome(path: Path, head: str) -> tuple[bool, Shown]:
    """Whether verification finds nothing wrong, and what a reader is then shown."""
    try:
        with Journal(path, read_only=True) as journal:
            if journal.verify(head).holds:
                return True, shown(journal)
    except RecordError:
        pass
    return False, []


def test_a_flipped_byte_anywhere_in_the_file_is_found_or_makes_no_difference(path: Path, tmp_path: Path) -> None:
    rng = random.Random(20310504)
    with Journal(filled(path, 30), read_only=True) as journal:
        before, head = shown(journal), journal.head().hash
    data = path.read_bytes()
    used = [place for place in range(len(data)) if any(data[max(0, place - 3) : place + 4])]  # not within empty space
    bodies = [data.index(entry.body_json.encode()) for entry in before[0]]
    damaged = tmp_path / "damaged.sqlite"
    for trial in range(TRIALS // 2):
        place = rng.choice(used) if trial % 5 else rng.choice(bodies) + rng.randrange(80)
        flipped = data[place] ^ rng.randrange(1, 256)
        damaged.write_bytes(data[:place] + bytes([flipped]) + data[place + 1 :])
        holds, after = outcome(damaged, head)
        assert not holds or (after == before and trial % 5), f"byte {place} became {flipped}"


def test_a_page_that_leads_past_an_entry_is_found(path: Path) -> None:
    """Reading everything goes from page to page; reading one job looks rows up, and a wrong key hides them."""
    with closing(sqlite3.connect(filled(path, 1000))) as connection:
        root, page = connection.execute(
            "SELECT rootpage, (SELECT page_size FROM pragma_page_size) FROM sqlite_schema WHERE name = 'journal'"
        ).fetchone()
    data = bytearray(path.read_bytes())
    # Interior page of a table and its cells: SQLite's "Database File Format", 1.6.
    assert data[(root - 1) * page] == 0x05
    cell = (root - 1) * page + int.from_bytes(data[(root - 1) * page + 12 :][:2], "big")
    key = cell + 5  # after the number of the page on the left (4) and the first byte of the key
    assert data[key - 1] & 0x80 and 3 < data[key] < 0x80
    data[key] -= 3
    path.write_bytes(data)
    with Journal(path, read_only=True) as journal:
        assert len(list(journal.entries())) == 1000
        assert sum(len(list(journal.entries(job=f"job-{i}"))) for i in range(4)) < 1000
        found = journal.verify()
    assert (found.holds, found.reason, found.entries) == (False, "misfiled", 1000)
    assert "entries may not be found: " in found.detail


def test_a_damaged_entry_can_be_listed_and_says_so_when_its_body_is_read(path: Path) -> None:
    with closing(sqlite3.connect(filled(path, 3))) as connection, connection:
        connection.execute("DROP TRIGGER journal_no_update")
        damage = "UPDATE journal SET entry = CAST(substr(entry, 1, length(entry) - 1) || x'ff5d' AS BLOB) WHERE seq = 2"
        connection.execute(damage)
    with Journal(path, read_only=True) as journal:
        damaged = list(journal.entries())[1]
        assert (damaged.kind, damaged.body_json[-6:]) == ("observation", "21.5}\udcff")
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


def test_it_tells_how_far_it_is_and_can_be_broken_off(path: Path) -> None:
    looked_at: list[int] = []
    with Journal(filled(path, 250), read_only=True) as journal:
        assert journal.verify(note=looked_at.append).holds
        assert looked_at[-1] == 250
        assert looked_at == sorted(looked_at)
        with pytest.raises(KeyboardInterrupt):
            journal.verify(note=_break_off)
        assert journal.verify().holds


def _break_off(_: int) -> None:
    raise KeyboardInterrupt
