"""Exported entries: anybody can prove them from the file alone, and whatever is done to the file is found."""

import hashlib
import json
import os
import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from scalewright.errors import InputError, RecordError
from scalewright.records.export_file import ExportFault, export, is_export, read_export, verify_export
from scalewright.records.journal import Addition, Journal
from scalewright.records.selection import Selection

TRIALS = int(os.environ.get("SCALEWRIGHT_TRIALS", "200"))


@pytest.fixture
def records(tmp_path: Path) -> Path:
    path = tmp_path / "records.sqlite"
    with Journal(path) as journal:
        journal.append_all(
            Addition("observation", f"job-{i // 3 % 2}", {"counts": i, "note": 'Grüße, "zitiert"\n'}) for i in range(12)
        )
    return path


@pytest.fixture
def exported(records: Path, tmp_path: Path) -> Path:
    path = tmp_path / "exported.jsonl"
    with Journal(records, read_only=True) as journal:
        assert export(journal, Selection(job="job-1"), path) == 6
    return path


def test_an_export_gives_back_the_entries_and_the_head(records: Path, exported: Path) -> None:
    found = read_export(exported)
    with Journal(records, read_only=True) as journal:
        assert list(found.entries) == list(journal.entries(job="job-1"))
        assert found.head == journal.head()
    assert found.selection == {"job": "job-1"}


def test_anyone_can_prove_an_export_with_the_documented_recipe(exported: Path) -> None:
    header, *lines, end = exported.read_bytes().splitlines(keepends=True)
    assert json.loads(header)["format"] == "Scalewright records"
    for line in lines:
        entry = json.loads(line)
        text = json.dumps(entry["entry"], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert line.endswith(f'"entry":{text}}}\n'.encode())
        assert hashlib.sha256(bytes.fromhex(entry["previous"]) + text.encode()).hexdigest() == entry["hash"]
    before = exported.read_bytes()[: -len(end)]
    assert json.loads(end) == {"entries": 6, "sha256": hashlib.sha256(before).hexdigest()}


def test_nothing_selected_is_a_file_too(records: Path, tmp_path: Path) -> None:
    with Journal(records, read_only=True) as journal:
        assert export(journal, Selection(job="none"), tmp_path / "none.jsonl") == 0
    assert verify_export(tmp_path / "none.jsonl").holds


def test_an_export_never_takes_the_place_of_a_file(records: Path, exported: Path) -> None:
    before = exported.read_bytes()
    with Journal(records) as journal, pytest.raises(InputError, match=r"exported\.jsonl: is there already"):
        export(journal, Selection(), exported)
    assert exported.read_bytes() == before


def test_an_entry_that_is_not_as_it_was_written_is_not_exported(records: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(records)) as connection, connection:
        connection.execute("DROP TRIGGER journal_no_update")
        connection.execute("UPDATE journal SET hash = zeroblob(32) WHERE seq = 4")
    with Journal(records) as journal, pytest.raises(RecordError, match="entry 4 is not as it was written"):
        export(journal, Selection(), tmp_path / "exported.jsonl")
    assert [file.name for file in tmp_path.iterdir()] == ["records.sqlite"]


def test_any_changed_removed_added_or_swapped_part_is_found(exported: Path) -> None:
    rng = random.Random(20310504)
    data = exported.read_bytes()
    lines = data.splitlines(keepends=True)
    for _ in range(TRIALS):
        i, j = sorted(rng.sample(range(len(lines)), 2))
        place = rng.randrange(len(data))
        tampered = rng.choice(
            [
                data[:place] + bytes([data[place] ^ rng.randrange(1, 256)]) + data[place + 1 :],
                data[:place] + data[place + 1 :],
                data[:place] + rng.randbytes(1) + data[place:],
                data[:place],
                b"".join([*lines[:i], *lines[i + 1 :]]),
                b"".join([*lines[:j], lines[i], *lines[j:]]),
                b"".join([*lines[:i], lines[j], *lines[i + 1 : j], lines[i], *lines[j + 1 :]]),
            ]
        )
        exported.write_bytes(tampered)
        try:
            assert not verify_export(exported).holds
        except InputError as error:
            assert not isinstance(error, ExportFault)  # so spoiled that it is none of ours any more


def test_a_fault_is_named_by_entry_file_and_line(exported: Path) -> None:
    exported.write_bytes(exported.read_bytes().replace(b'"counts":4', b'"counts":5'))
    with pytest.raises(ExportFault, match=r"exported\.jsonl, line 3: entry 5 was changed") as fault:
        read_export(exported)
    assert (fault.value.seq, fault.value.reason) == (5, "changed")
    found = verify_export(exported)
    assert (found.holds, found.seq, found.reason) == (False, 5, "changed")


def test_a_hash_noted_earlier_must_be_in_the_file(records: Path, exported: Path) -> None:
    found = read_export(exported)
    for known in (found.head.hash, found.entries[0].hash):
        assert verify_export(exported, known).holds
    assert verify_export(exported, "f" * 64).reason == "rewritten"


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        (b"", "line 1: not a file of exported records"),
        (b"time_s,counts\n0,1\n", "line 1: not a file of exported records"),
        (b'{"format":"Scalewright records","version":2,"head":{"seq":0,"hash":""},"selection":{}}\n', "version 2"),
        (b"[]\n", "line 1: not a file of exported records"),
    ],
)
def test_another_file_is_bad_input(tmp_path: Path, content: bytes, complaint: str) -> None:
    path = tmp_path / "other.jsonl"
    path.write_bytes(content)
    with pytest.raises(InputError, match=complaint) as refusal:
        verify_export(path)
    assert not isinstance(refusal.value, ExportFault)
    assert is_export(path) == content.startswith(b'{"format":"Scalewright records"')


def test_a_file_that_is_not_there_is_bad_input(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.jsonl: cannot be read: No such file"):
        read_export(tmp_path / "none.jsonl")
