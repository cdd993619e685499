"""Backup and the way back, between files and servers; nothing that is there is ever lost."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from scalewright.errors import InputError, RecordError
from scalewright.records.backup import back_up, restore
from scalewright.records.journal import Addition, Journal
from tests.host.records.small_disk import at_most


def filled(address: str | Path, number: int, job: str = "job-1") -> str:
    with Journal(address) as journal:
        journal.append_all(Addition("observation", job, {"counts": i}) for i in range(number))
    return str(address)


def hashes(address: str | Path) -> list[str]:
    with Journal(address, read_only=True) as journal:
        assert journal.verify().holds
        return [entry.hash for entry in journal.entries()]


def backed_up(address: str | Path, path: Path) -> Path:
    with Journal(address, read_only=True) as journal:
        assert back_up(journal, path).holds
    return path


def test_a_backup_is_one_file_that_holds_all_entries(address: str, tmp_path: Path) -> None:
    path = backed_up(filled(address, 20), tmp_path / "backup.sqlite")
    assert hashes(path) == hashes(address)
    assert [file.name for file in tmp_path.iterdir() if file.name.startswith("backup")] == ["backup.sqlite"]


def test_a_backup_is_of_one_moment_while_others_write(address: str, tmp_path: Path) -> None:
    with Journal(filled(address, 20)) as journal, Journal(address) as other:
        rows = journal.rows()
        next(rows)
        other.append("observation", "job-2", {})
        assert len(list(rows)) == 19  # what was there when the reading began
    assert len(hashes(backed_up(address, tmp_path / "backup.sqlite"))) == 21


def test_a_backup_never_takes_the_place_of_a_file(tmp_path: Path) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_text("of an invented bench")
    with pytest.raises(InputError, match=r"notes\.txt: is there already"):
        backed_up(filled(tmp_path / "records.sqlite", 3), notes)
    assert notes.read_text() == "of an invented bench"


def damage(path: str | Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        for table in ("journal", "run"):
            connection.execute(f"DROP TRIGGER {table}_no_update")
        connection.execute(statement)


def test_no_backup_is_made_of_records_that_do_not_hold(tmp_path: Path) -> None:
    damage(filled(tmp_path / "records.sqlite", 5), "UPDATE journal SET hash = zeroblob(32) WHERE seq = 3")
    with pytest.raises(RecordError, match="no backup was made, for the chain does not hold: entry 3 was changed"):
        backed_up(tmp_path / "records.sqlite", tmp_path / "backup.sqlite")
    assert [file.name for file in tmp_path.iterdir()] == ["records.sqlite"]


def test_where_entries_are_found_wrongly_a_backup_is_right_again(tmp_path: Path) -> None:
    damage(filled(tmp_path / "records.sqlite", 5), "UPDATE run SET job = '\"another\"'")
    with Journal(tmp_path / "records.sqlite") as journal:
        assert (journal.verify().reason, list(journal.entries(job="job-1"))) == ("misfiled", [])
    with Journal(backed_up(tmp_path / "records.sqlite", tmp_path / "backup.sqlite")) as journal:
        assert (journal.verify().reason, len(list(journal.entries(job="job-1")))) == ("", 5)


def test_records_that_are_gone_are_made_again(address: str, tmp_path: Path) -> None:
    backup = filled(tmp_path / "backup.sqlite", 5)
    restored = restore(Path(backup), address)
    assert (restored.added, restored.verification.entries, restored.aside) == (5, 5, None)
    assert hashes(address) == hashes(backup)


def test_records_that_are_behind_get_what_they_lack(address: str, tmp_path: Path) -> None:
    backup = backed_up(filled(address, 5), tmp_path / "backup.sqlite")
    filled(backup, 3)  # somebody went on with the backup
    assert restore(backup, address).added == 3
    assert hashes(address) == hashes(backup)


def test_records_that_went_on_after_the_backup_stay_as_they_are(address: str, tmp_path: Path) -> None:
    backup = backed_up(filled(address, 5), tmp_path / "backup.sqlite")
    before = hashes(filled(address, 3))
    assert restore(backup, address, replace=True).added == 0
    assert hashes(address) == before


def test_records_with_other_entries_are_refused_and_stay(address: str, tmp_path: Path) -> None:
    backup = backed_up(filled(address, 2), tmp_path / "backup.sqlite")
    filled(backup, 3, "job-2")
    before = hashes(filled(address, 2, "job-3"))
    with pytest.raises(RecordError, match=r"entry 3 is another one than in .*backup\.sqlite \(nothing was changed"):
        restore(backup, address)
    assert hashes(address) == before


@pytest.mark.parametrize("content", ["other entries", "damaged", "no records"])
def test_a_file_that_is_replaced_is_put_aside_whatever_it_is(tmp_path: Path, content: str) -> None:
    backup, path = filled(tmp_path / "backup.sqlite", 5), tmp_path / "records.sqlite"
    if content == "no records":
        path.write_text("notes of an invented bench\n" * 100)
    else:
        filled(path, 2, "job-2")
    if content == "damaged":
        damage(path, "UPDATE journal SET hash = zeroblob(32) WHERE seq = 1")
    before = path.read_bytes()
    (tmp_path / "records.sqlite.aside-1").write_text("put aside before")
    with pytest.raises(RecordError):
        restore(Path(backup), path)
    assert path.read_bytes() == before
    restored = restore(Path(backup), path, replace=True)
    assert (restored.added, restored.aside) == (5, tmp_path / "records.sqlite.aside-2")
    assert restored.aside.read_bytes() == before
    assert hashes(path) == hashes(backup)


def test_a_backup_that_does_not_hold_is_not_restored(tmp_path: Path) -> None:
    damage(filled(tmp_path / "backup.sqlite", 5), "UPDATE journal SET hash = zeroblob(32) WHERE seq = 3")
    with pytest.raises(RecordError, match=r"backup\.sqlite: the chain does not hold: entry 3 was changed"):
        restore(tmp_path / "backup.sqlite", tmp_path / "records.sqlite")
    assert not (tmp_path / "records.sqlite").exists()


def test_what_cannot_be_restored_leaves_the_file_where_it_was(tmp_path: Path) -> None:
    backup, path = filled(tmp_path / "backup.sqlite", 5), tmp_path / "records.sqlite"
    before = hashes(filled(path, 2, "job-2"))
    with at_most(1), pytest.raises(RecordError, match="the disk is full"):
        restore(Path(backup), path, replace=True)
    assert hashes(path) == before
    assert sorted(file.name for file in tmp_path.iterdir()) == ["backup.sqlite", "records.sqlite"]
