"""The records file with something in the way: every error says which file, why and what to do, and loses nothing."""

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Connection, Pool, event
from sqlalchemy.exc import OperationalError

from scalewright.errors import DamageError, InputError, RecordError
from scalewright.records.journal import Journal
from scalewright.records.schema import MIGRATIONS, bring_up_to_date, open_file

ON_WINDOWS = os.name == "nt"
NOBODY = 65534


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "records.sqlite"


def filled(path: Path, number: int = 3) -> Path:
    with Journal(path) as journal:
        for i in range(number):
            journal.append("observation", "job-1", {"counts": i})
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


@pytest.mark.parametrize("address", ["postgresql://bench/records", "sqlite://", "nonsense://x y"])
def test_what_is_no_sqlite_file_is_refused(address: str) -> None:
    with pytest.raises(RecordError, match=r"expected a file name or sqlite:///FILE"):
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


@contextmanager
def on_every_connection(act: Callable[[sqlite3.Connection], object]) -> Iterator[None]:
    def connected(connection: sqlite3.Connection, _record: object) -> None:
        act(connection)

    event.listen(Pool, "connect", connected)
    try:
        yield
    finally:
        event.remove(Pool, "connect", connected)


def at_most(pages: int) -> AbstractContextManager[None]:
    """A disk that has room for so many pages of a database."""
    return on_every_connection(lambda connection: connection.execute(f"PRAGMA max_page_count = {pages}"))


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
        at_most(8),
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
    size = filled(path, 200).stat().st_size
    with open(path, "r+b") as file:
        file.seek(size - 2 * 4096)
        file.write(b"\xff" * 4096)
    with Journal(path, read_only=True) as journal:
        found = journal.verify()
        with pytest.raises(DamageError, match=r"records\.sqlite: it is damaged.*\(keep this file as it is"):
            list(journal.entries())
    assert (found.reason, found.seq) == ("unreadable", found.entries + 1)
    assert 100 < found.entries < 200


def test_the_journal_of_a_newer_version_is_refused(path: Path) -> None:
    newest = len(MIGRATIONS)
    with closing(sqlite3.connect(filled(path))) as other:
        other.execute(f"PRAGMA user_version = {newest + 1}")
    complaint = rf"records\.sqlite: it has schema {newest + 1}, this Scalewright knows up to {newest} \(use the newer"
    for read_only in (True, False):
        with pytest.raises(RecordError, match=complaint):
            Journal(path, read_only=read_only)


def add_an_index(connection: Connection) -> None:
    connection.exec_driver_sql("CREATE INDEX journal_job ON journal (job)")


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
    engine = open_file(path, read_only=False, timeout_s=1)
    with pytest.raises(RecordError, match="table journal already exists") as refusal:
        bring_up_to_date(engine, {**MIGRATIONS, newest: add_an_index, newest + 1: fail_halfway})
    assert isinstance(refusal.value.__cause__, OperationalError)
    engine.dispose()
    assert names_and_version(path) == (names | {"journal_job"}, newest + 1)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT count(*) FROM journal").fetchone() == (3,)
