"""The records file with something in the way: every error says which file, why and what to do, and loses nothing."""

import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Connection
from sqlalchemy.exc import OperationalError

from scalewright.errors import DamageError, InputError, RecordError
from scalewright.records.backup import back_up
from scalewright.records.journal import Addition, Journal
from scalewright.records.schema import MIGRATIONS
from scalewright.records.sqlite_file import SQLiteFile
from tests.host.records.small_disk import at_most, on_every_connection

ON_WINDOWS = os.name == "nt"
if not ON_WINDOWS:
    import resource
NOBODY = 65534


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "records.sqlite"


def filled(path: Path, number: int = 3) -> Path:
    with Journal(path) as journal:
        journal.append_all(Addition("observation", "job-1", {"counts": i}) for i in range(number))
    return path


def number_that_hold(path: Path) -> int:
    with Journal(path, read_only=True) as journal:
        verification = journal.verify()
    assert verification.holds
    return verification.entries


@pytest.mark.parametrize("form", [str, Path, "sqlite:///{}".format])
def test_a_journal_is_named_by_file_or_by_address(path: Path, form: Callable[[Path], str | Path]) -> None:
    with Journal(form(path)) as journal:
        journal.append("observation", "job-1", {})
    assert number_that_hold(path) == 1


@pytest.mark.parametrize(
    "address", ["mysql://bench/records", "postgresql://bench/records", "sqlite://", "nonsense://x y"]
)
def test_what_is_no_address_of_records_is_refused(address: str) -> None:
    with pytest.raises(RecordError, match=r"expected a file name, sqlite:///FILE or postgresql"):
        Journal(address)


def test_reading_a_file_that_is_not_there_is_bad_input_and_makes_none(path: Path) -> None:
    with pytest.raises(InputError, match=r"records\.sqlite: no such file"):
        Journal(path, read_only=True)
    assert not path.exists()


@pytest.mark.parametrize("hold", ["BEGIN IMMEDIATE", "BEGIN EXCLUSIVE"])
def test_a_journal_that_another_program_is_writing_to_can_be_read_but_not_written(path: Path, hold: str) -> None:
    with Journal(filled(path), timeout_s=0) as journal, closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute(hold)
        with pytest.raises(RecordError, match=r"records\.sqlite: another program is writing to it.*\(wait until"):
            journal.append("observation", "job-1", {})
        assert journal.verify().entries == 3
        other.execute("ROLLBACK")
        assert journal.append("observation", "job-1", {}).seq == 4


def append(journal: Journal) -> None:
    journal.append("observation", "job-1", {})


def entries(journal: Journal) -> None:
    list(journal.entries())


@pytest.mark.parametrize("use", [append, entries, Journal.head, Journal.verify])
def test_every_use_of_a_file_that_another_program_has_to_itself_says_so(
    path: Path, use: Callable[[Journal], object]
) -> None:
    filled(path)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        with Journal(path, timeout_s=0) as journal:
            pass
        other.execute("PRAGMA locking_mode = EXCLUSIVE")
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordError, match=r"records\.sqlite: another program is writing to it"):
            use(journal)
        other.execute("ROLLBACK")
    assert number_that_hold(path) == 3


def test_every_commit_goes_to_the_log_and_is_synchronised(path: Path) -> None:
    found: list[tuple[object, ...]] = []

    def look(connection: sqlite3.Connection) -> None:
        pragmas = ("journal_mode", "synchronous", "fullfsync", "foreign_keys")
        found.append(tuple(connection.execute(f"PRAGMA {pragma}").fetchone()[0] for pragma in pragmas))

    with on_every_connection(look):
        filled(path)
    assert found == [("wal", 2, 1, 1)]  # 2 is FULL


def test_on_a_full_disk_nothing_that_was_acknowledged_is_lost(path: Path) -> None:
    acknowledged = 0
    with (
        at_most(12),
        Journal(path) as journal,
        pytest.raises(RecordError, match=r"records\.sqlite: the disk is full.*\(make room"),
    ):
        while acknowledged < 1000:
            acknowledged = journal.append("observation", "job-1", {"note": "x" * 500}).seq
    assert number_that_hold(path) == acknowledged > 10
    with Journal(path) as journal:
        assert journal.append("observation", "job-1", {}).seq == acknowledged + 1


def test_a_disk_too_full_for_a_new_journal_leaves_a_file_that_is_taken_up_later(path: Path) -> None:
    with at_most(1), pytest.raises(RecordError, match="the disk is full"):
        Journal(path)
    assert number_that_hold(filled(path)) == 3


@contextmanager
def without_privileges() -> Iterator[None]:
    """As an ordinary user: permissions do not bind root."""
    if os.geteuid() != 0:
        yield
        return
    os.setresuid(NOBODY, NOBODY, 0)
    try:
        yield
    finally:
        os.setresuid(0, 0, 0)


@pytest.fixture
def archive() -> Iterator[Path]:
    """A folder that everybody may read and nobody may write, with a journal in it."""
    with tempfile.TemporaryDirectory() as folder:
        path = filled(Path(folder) / "records.sqlite")
        path.chmod(0o444)
        path.parent.chmod(0o555)
        with without_privileges():
            yield path
        path.parent.chmod(0o755)


@pytest.mark.skipif(ON_WINDOWS, reason="folders have no permission bits here")
def test_an_archive_can_be_verified_but_not_added_to(archive: Path) -> None:
    assert number_that_hold(archive) == 3
    with pytest.raises(RecordError, match=r"records\.sqlite: it may not be written.*\(get write permission"):
        filled(archive)
    assert number_that_hold(archive) == 3


@pytest.mark.skipif(ON_WINDOWS, reason="folders have no permission bits here")
def test_a_new_journal_in_a_folder_that_may_not_be_written_is_refused(archive: Path) -> None:
    with pytest.raises(RecordError, match=r"other\.sqlite: it cannot be opened.*\(check that its folder exists"):
        Journal(archive.with_name("other.sqlite"))


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match=r"nowhere.records\.sqlite: it cannot be opened"):
        Journal(tmp_path / "nowhere" / "records.sqlite")


def test_a_file_of_another_kind_is_refused_and_left_as_it_is(path: Path) -> None:
    text = "time_s,counts,temperature_c,load_g\n" * 100
    path.write_text(text)
    with pytest.raises(RecordError, match="it is not a records file"):
        Journal(path)
    assert path.read_text() == text


def test_the_database_of_another_program_is_refused_and_left_as_it_is(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE journal (day TEXT, notes TEXT)")
    with pytest.raises(RecordError, match="it is a database of another program"):
        Journal(path)
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT name FROM sqlite_schema").fetchall() == [("journal",)]


def test_an_empty_file_becomes_a_journal_but_cannot_be_read_as_one(path: Path) -> None:
    path.touch()
    with pytest.raises(RecordError):
        Journal(path, read_only=True)
    assert number_that_hold(filled(path)) == 3


def test_a_damaged_page_is_named_as_damage_and_the_entries_before_it_hold(path: Path) -> None:
    place = filled(path, 400).read_bytes().index(b'{"counts":300}')
    with open(path, "r+b") as file:
        file.seek(place // 8192 * 8192)
        file.write(b"\xff" * 8192)
    with Journal(path, read_only=True) as journal:
        found = journal.verify()
        with pytest.raises(DamageError, match=r"records\.sqlite: it is damaged.*\(keep this file as it is"):
            list(journal.entries())
    assert (found.reason, found.seq) == ("unreadable", found.entries + 1)
    assert 0 < found.entries < 400


def test_the_journal_of_a_newer_version_is_refused(path: Path) -> None:
    newest = len(MIGRATIONS)
    with closing(sqlite3.connect(filled(path))) as other:
        other.execute(f"PRAGMA user_version = {newest + 1}")
    complaint = rf"records\.sqlite: it has schema {newest + 1}, this Scalewright knows up to {newest} \(use the newer"
    for read_only in (True, False):
        with pytest.raises(RecordError, match=complaint):
            Journal(path, read_only=read_only)


def add_an_index(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE INDEX journal_hash ON journal (hash)")


def fail_halfway(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE TABLE halfway (seq INTEGER)")
    connection.exec_driver_sql("CREATE TABLE journal (seq INTEGER)")


def names_and_version(path: Path) -> tuple[set[str], int]:
    with closing(sqlite3.connect(path)) as connection:
        names = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema")}
        return names, connection.execute("PRAGMA user_version").fetchone()[0]


def test_each_migration_is_done_whole_or_not_at_all_and_entries_stay(path: Path) -> None:
    newest = len(MIGRATIONS)
    names, _ = names_and_version(filled(path))
    further = {**MIGRATIONS, newest: add_an_index, newest + 1: fail_halfway}
    with pytest.raises(RecordError, match="table journal already exists") as refusal:
        SQLiteFile(path, read_only=False, timeout_s=1, migrations=further)
    assert isinstance(refusal.value.__cause__, OperationalError)
    assert names_and_version(path) == (names | {"journal_hash"}, newest + 1)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT count(*) FROM journal").fetchone() == (3,)


VERSION_1 = Path(__file__).parents[2] / "reference_data" / "records_version_1.sqlite"
"""15 entries of an invented bench, written by the first version of the journal (schema 1, before its entries were kept
as the bytes that are hashed); HEAD_1 is what it printed then."""
HEAD_1 = "ac5a31ab591394079b53d8c14886e15979983541c114fe2110a51da0fd3d45f5"


def of_version_1(path: Path) -> Path:
    return Path(shutil.copyfile(VERSION_1, path))


def told_by_version_1(path: Path) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT * FROM journal").fetchall()


@pytest.mark.parametrize("read_only", [False, True])
def test_a_file_of_version_1_says_what_it_said_and_its_old_hashes_hold(path: Path, read_only: bool) -> None:
    said = told_by_version_1(of_version_1(path))
    with Journal(path, read_only=read_only) as journal:
        entries = list(journal.entries())
        assert [(e.seq, e.at, e.kind, e.job, e.body_json, e.previous, e.hash) for e in entries] == said
        assert journal.verify(HEAD_1).entries == 15
        assert journal.jobs() == ["bench-1", 'bench "2"\\ü', "bench-3"]
        assert [entry.seq for entry in journal.entries(job='bench "2"\\ü')] == [6, 7, 8, 9, 10]
    assert names_and_version(path)[1] == (1 if read_only else len(MIGRATIONS))
    assert (path.read_bytes() == VERSION_1.read_bytes()) == read_only


def test_a_file_of_version_1_goes_on_where_it_ended(path: Path) -> None:
    with Journal(of_version_1(path)) as journal:
        entry = journal.append("job.begun", "bench-4", {})
        assert (entry.seq, entry.previous) == (16, HEAD_1)
        assert journal.verify(HEAD_1).holds


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize(
    "change",
    [
        "UPDATE journal SET body = replace(body, '200.00', '200.01') WHERE seq = 7",
        "UPDATE journal SET hash = upper(hash) WHERE seq = 7",
        "UPDATE journal SET previous = ' ' || previous WHERE seq = 7",
        "DELETE FROM journal WHERE seq = 7",
    ],
)
def test_a_file_of_version_1_that_does_not_hold_is_named_and_stays_as_it_is(
    path: Path, change: str, read_only: bool
) -> None:
    with closing(sqlite3.connect(of_version_1(path))) as connection, connection:
        connection.execute("DROP TRIGGER journal_no_update")
        connection.execute("DROP TRIGGER journal_no_delete")
        connection.execute(change.replace("200.00", "0.00"))
    said = told_by_version_1(path)
    complaint = r"an earlier version wrote these records, and the chain does not hold: entry 7 (was changed|is missing)"
    with pytest.raises(RecordError, match=complaint):
        Journal(path, read_only=read_only)
    assert told_by_version_1(path) == said


def test_on_a_disk_with_no_room_for_the_migration_the_old_file_stays(path: Path) -> None:
    said = told_by_version_1(of_version_1(path))
    with at_most(3), pytest.raises(RecordError, match="the disk is full"):
        Journal(path)
    assert told_by_version_1(path) == said
    with Journal(path) as journal:
        assert journal.verify(HEAD_1).entries == 15


def limited() -> None:
    """In a process of its own: a file may grow to 3 MB, as on a disk that is full then."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (3_000_000, 3_000_000))


FILL = """
import sys
from scalewright.errors import RecordError
from scalewright.records.backup import back_up
from scalewright.records.journal import Addition, Journal
try:
    with Journal(sys.argv[1]) as journal:
        while True:
            print(journal.append("observation", "job-1", {"note": "x" * 500}).hash, flush=True)
except RecordError as error:
    sys.exit(str(error))
"""


@pytest.mark.skipif(ON_WINDOWS, reason="no limits on the size of files here")
def test_where_the_system_lets_no_file_grow_nothing_that_was_acknowledged_is_lost(path: Path) -> None:
    command = [sys.executable, "-c", FILL, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, preexec_fn=limited, check=False)
    assert re.search(r"records\.sqlite: the disk (is full|could not be read or written): .* \(", done.stderr), (
        done.stderr
    )
    acknowledged = done.stdout.split()
    with Journal(path) as journal:
        assert [entry.hash for entry in journal.entries()][: len(acknowledged)] == acknowledged
        assert journal.verify().entries >= len(acknowledged) > 10
        journal.append("observation", "job-1", {})


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of its own with room for 4 MB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=4m", "none", str(folder)]
    if ON_WINDOWS or os.geteuid() != 0 or subprocess.run(command, capture_output=True, check=False).returncode != 0:
        pytest.skip("only root may make a disk; limits on files are tried in its place")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_real_disk_that_is_full_or_read_only_says_so_and_loses_nothing(disk: Path, tmp_path: Path) -> None:
    path, acknowledged = disk / "records.sqlite", []
    with Journal(path) as journal:
        with pytest.raises(RecordError, match=r"records\.sqlite: the disk is full.*\(make room"):
            while len(acknowledged) < 10_000:
                acknowledged.append(journal.append("observation", "job-1", {"note": "x" * 20_000}))
        assert list(journal.entries()) == acknowledged
    assert number_that_hold(path) == len(acknowledged) > 10
    with Journal(path) as journal, pytest.raises(RecordError, match=r"No space|the disk is full"):
        back_up(journal, disk / "backup.sqlite")
    assert {file.name.removeprefix("records.sqlite") for file in disk.iterdir()} <= {"", "-wal", "-shm"}
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    assert number_that_hold(path) == len(acknowledged)
    complaint = r"records\.sqlite: it (may not be written|cannot be opened)"
    with pytest.raises(RecordError, match=complaint), Journal(path) as journal:
        journal.append("observation", "job-1", {})
    with Journal(path, read_only=True) as journal:
        assert back_up(journal, tmp_path / "backup.sqlite").entries == len(acknowledged)
