"""`scalewright records` as a person at a shell meets it."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from scalewright.command_line.main import BAD_INPUT, FAILED, NOT_DONE, PASSED, run
from scalewright.records.journal import Entry, Journal


@pytest.fixture
def entries(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[Entry]:
    """Three entries of an invented bench in the default file of the current folder."""
    monkeypatch.chdir(tmp_path)
    with Journal("scalewright.sqlite") as journal:
        return [
            journal.append("job.begun", "job-1", {"scale": "B-7", "site": "Mühle"}),
            journal.append("observation", "job-1", {"load_g": "100.00", "counts": 8_388_607}),
            journal.append("job.begun", "job-2", {"scale": "B-8"}),
        ]


def change_the_second_entry() -> None:
    with closing(sqlite3.connect("scalewright.sqlite")) as connection, connection:
        connection.execute("DROP TRIGGER journal_no_update")
        changed = "CAST(replace(CAST(entry AS TEXT), '100.00', '100.01') AS BLOB)"
        connection.execute(f"UPDATE journal SET entry = {changed} WHERE seq = 2")


def test_a_chain_that_holds_is_said_to_hold_with_its_head(
    entries: list[Entry], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["records", "verify"]) == PASSED
    expected = f"scalewright.sqlite: 3 entries, the chain holds; its head is {entries[-1].hash}\n"
    assert capsys.readouterr().out == expected


def test_a_changed_entry_is_named_and_the_exit_code_is_1(
    entries: list[Entry], capsys: pytest.CaptureFixture[str]
) -> None:
    change_the_second_entry()
    assert run(["records", "verify", "scalewright.sqlite"]) == FAILED
    assert capsys.readouterr().out == "scalewright.sqlite: the chain does not hold: entry 2 was changed\n"


def test_the_verification_as_json_is_one_object(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    change_the_second_entry()
    assert run(["records", "verify", "--json"]) == FAILED
    assert json.loads(capsys.readouterr().out) == {
        "file": "scalewright.sqlite",
        "holds": False,
        "entries": 1,
        "head": entries[0].hash,
        "seq": 2,
        "reason": "changed",
        "detail": "entry 2 was changed",
    }


def test_a_head_noted_earlier_is_accepted_in_either_case_and_a_strange_one_is_not(
    entries: list[Entry], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["records", "verify", "--head", entries[1].hash.upper()]) == PASSED
    assert run(["records", "verify", "--head", "f" * 64]) == FAILED
    assert "no entry has the expected hash ffff" in capsys.readouterr().out


@pytest.mark.parametrize("head", ["", "12ab", "g" * 64])
def test_what_is_no_hash_is_bad_input(entries: list[Entry], capsys: pytest.CaptureFixture[str], head: str) -> None:
    assert run(["records", "verify", "--head", head]) == BAD_INPUT
    assert capsys.readouterr().err == f"scalewright: --head {head}: expected the 64 hexadecimal digits of a hash\n"


@pytest.mark.parametrize("action", ["verify", "list"])
def test_a_file_that_is_not_there_is_bad_input_and_is_not_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], action: str
) -> None:
    path = tmp_path / "nothing.sqlite"
    assert run(["records", action, str(path)]) == BAD_INPUT
    assert capsys.readouterr() == ("", f"scalewright: {path}: no such file (expected a records file)\n")
    assert not path.exists()


def test_a_file_of_another_kind_cannot_be_verified(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("notes of an invented bench\n" * 100)
    assert run(["records", "verify", str(path)]) == NOT_DONE
    assert f"{path}: it is not a records file, or damaged" in capsys.readouterr().err


def test_entries_are_listed_one_a_line(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["records", "list"]) == PASSED
    assert capsys.readouterr().out.splitlines() == [
        f'     1  {entries[0].at}  job.begun  job-1  {{"scale":"B-7","site":"Mühle"}}',
        f'     2  {entries[1].at}  observation  job-1  {{"counts":8388607,"load_g":"100.00"}}',
        f'     3  {entries[2].at}  job.begun  job-2  {{"scale":"B-8"}}',
    ]


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (["--job", "job-1"], [1, 2]),
        (["--kind", "job.begun"], [1, 3]),
        (["--job", "job-1", "--kind", "job.begun"], [1]),
        (["--job", "none"], []),
    ],
)
def test_entries_are_listed_by_job_and_kind(
    entries: list[Entry], capsys: pytest.CaptureFixture[str], options: list[str], expected: list[int]
) -> None:
    assert run(["records", "list", "--json", *options]) == PASSED
    assert [entry["seq"] for entry in json.loads(capsys.readouterr().out)["entries"]] == expected


def test_a_listed_entry_as_json_has_all_that_is_stored(
    entries: list[Entry], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["records", "list", "--json"]) == PASSED
    assert json.loads(capsys.readouterr().out)["entries"][1] == {
        "seq": 2,
        "at": entries[1].at,
        "kind": "observation",
        "job": "job-1",
        "body": {"load_g": "100.00", "counts": 8_388_607},
        "previous": entries[0].hash,
        "hash": entries[1].hash,
    }


def scalewright(*words: str, **options: str) -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", "scalewright", *words]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=os.environ | options)


def test_a_terminal_without_the_letters_still_shows_every_entry(entries: list[Entry]) -> None:
    output, complaints = scalewright("records", "list", PYTHONIOENCODING="ascii").communicate()
    assert (len(output.splitlines()), complaints) == (3, b"")
    assert b'"site":"M\\xfchle"' in output


def test_a_reader_that_has_seen_enough_ends_the_listing_quietly(tmp_path: Path) -> None:
    path = tmp_path / "long.sqlite"
    with Journal(path) as journal:
        for _ in range(50):
            journal.append("observation", "job-1", {"note": "x" * 10_000})
    process = scalewright("records", "list", str(path))
    assert process.stdout and process.stderr
    process.stdout.readline()
    process.stdout.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == PASSED
