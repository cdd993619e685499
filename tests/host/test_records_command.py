"""`scalewright records` as a person at a shell meets it."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
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


def test_only_the_beginning_of_a_long_entry_is_listed(
    entries: list[Entry], capsys: pytest.CaptureFixture[str]
) -> None:
    with Journal("scalewright.sqlite") as journal:
        journal.append("note", "job-3", {"text": "x" * 200})
    assert run(["records", "list", "--job", "job-3"]) == PASSED
    assert capsys.readouterr().out.rstrip().endswith('  note  job-3  {"text":"' + "x" * 62 + "…")


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


def entry_numbers(capsys: pytest.CaptureFixture[str]) -> list[int]:
    return [int(line.split()[0]) for line in capsys.readouterr().out.splitlines()]


def test_the_newest_entries_are_listed_page_by_page(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["records", "list", "--newest", "2"]) == PASSED
    assert entry_numbers(capsys) == [3, 2]
    assert run(["records", "list", "--newest", "2", "--before", "2"]) == PASSED
    assert entry_numbers(capsys) == [1]


@pytest.fixture
def a_scale(entries: list[Entry]) -> None:
    with Journal("scalewright.sqlite") as journal:
        body = {"circumstances": {"scale": "PLOVER-1"}, "device": {"serial_number": "0007"}}
        journal.append("job.begun", "job-3", body, datetime(2031, 5, 4, 23, 30, tzinfo=UTC))
        journal.append("job.ended", "job-3", {"passed": True}, datetime(2031, 5, 5, tzinfo=UTC))


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (["--scale", "PLOVER-1"], [4, 5]),
        (["--scale", "0007", "--kind", "job.ended"], [5]),
        (["--kind", "job.", "--newest", "3"], [5, 4, 3]),
        (["--since", "2031-05-04", "--until", "2031-05-04"], [4]),
        (["--since", "2031-05-05T02:00+02:00"], [5]),
        (["--scale", "PLOVER-1", "--until", "2031-05-05T00:00"], [4, 5]),
    ],
)
def test_entries_are_listed_by_scale_kind_and_time(
    a_scale: None, capsys: pytest.CaptureFixture[str], options: list[str], expected: list[int]
) -> None:
    assert run(["records", "list", *options]) == PASSED
    assert [number for number in entry_numbers(capsys) if number > 3 or "--newest" in options] == expected


@pytest.mark.parametrize(
    ("options", "complaint"),
    [
        (["--since", "yesterday"], "--since yesterday: expected a day or a time, such as 2031-05-04T12:30"),
        (["--newest", "0"], "--newest 0: expected at least 1"),
        (["--before", "3"], "--before needs --newest"),
    ],
)
def test_a_choice_that_cannot_be_used_is_bad_input(
    entries: list[Entry], capsys: pytest.CaptureFixture[str], options: list[str], complaint: str
) -> None:
    assert run(["records", "list", *options]) == BAD_INPUT
    assert capsys.readouterr().err == f"scalewright: {complaint}\n"


def test_a_job_is_shown_in_full(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["records", "show", "job-1"]) == PASSED
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == f"1  {entries[0].at}  job.begun  {entries[0].hash}"
    assert lines[1:5] == ["    {", '      "scale": "B-7",', '      "site": "Mühle"', "    }"]
    assert run(["records", "show", "job-1", "--json"]) == PASSED
    shown = json.loads(capsys.readouterr().out)
    assert (shown["job"], [entry["seq"] for entry in shown["entries"]]) == ("job-1", [1, 2])


def test_a_job_that_is_not_there_is_bad_input(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["records", "show", "job-9"]) == BAD_INPUT
    assert "no job 'job-9' (scalewright records list shows them)" in capsys.readouterr().err


def test_records_are_backed_up_lost_and_restored(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    head = entries[-1].hash
    assert run(["records", "backup", "backup.sqlite"]) == PASSED
    assert capsys.readouterr().out == f"backup.sqlite: 3 entries, the chain holds; its head is {head}\n"
    Path("scalewright.sqlite").unlink()
    assert run(["records", "restore", "backup.sqlite", "--json"]) == PASSED
    restored = json.loads(capsys.readouterr().out)
    assert (restored["added"], restored["head"], restored["aside"]) == (3, head, None)
    assert run(["records", "backup", "backup.sqlite", "--json"]) == BAD_INPUT
    assert "backup.sqlite: is there already (give another name)" in capsys.readouterr().err


def test_records_in_the_way_are_only_replaced_when_asked(
    entries: list[Entry], capsys: pytest.CaptureFixture[str]
) -> None:
    with Journal("other.sqlite") as journal:
        journal.append("job.begun", "job-1", {})
    assert run(["records", "restore", "other.sqlite"]) == NOT_DONE
    assert "entry 1 is another one than in" in capsys.readouterr().err
    assert run(["records", "restore", "other.sqlite", "--replace"]) == PASSED
    assert "What was there is now" in capsys.readouterr().out
    with Journal("scalewright.sqlite.aside-1", read_only=True) as aside:
        assert list(aside.entries()) == entries


def test_chosen_entries_go_to_other_records_once(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["records", "export", "job.jsonl", "--job", "job-1"]) == PASSED
    assert run(["records", "import", "job.jsonl", "--records", "other.sqlite"]) == PASSED
    assert run(["records", "import", "job.jsonl", "--records", "other.sqlite", "--json"]) == PASSED
    *lines, facts = capsys.readouterr().out.splitlines()
    assert lines == ["job.jsonl: 2 entries", "other.sqlite: 2 entries added, 0 were there already"]
    assert json.loads(facts) == {"file": "other.sqlite", "added": 0, "known": 2}


def test_an_export_is_verified_like_records(entries: list[Entry], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["records", "export", "job.jsonl", "--job", "job-1", "--json"]) == PASSED
    assert json.loads(capsys.readouterr().out) == {"file": "job.jsonl", "entries": 2}
    assert run(["records", "verify", "job.jsonl", "--head", entries[1].hash]) == PASSED
    head = entries[-1].hash
    expected = f"job.jsonl: 2 exported entries, each as it was written; the journal then ended with {head}\n"
    assert capsys.readouterr().out == expected
    path = Path("job.jsonl")
    path.write_bytes(path.read_bytes().replace(b"100.00", b"100.01"))
    assert run(["records", "verify", "job.jsonl"]) == FAILED
    assert "line 3: entry 2 was changed" in capsys.readouterr().out
    assert run(["records", "verify", "job.jsonl", "--json"]) == FAILED
    assert json.loads(capsys.readouterr().out)["seq"] == 2
    assert run(["records", "import", "job.jsonl"]) == BAD_INPUT


def test_importing_what_is_no_export_makes_no_records(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("notes.txt").write_text("of an invented bench")
    for file in ("nothing.jsonl", "notes.txt"):
        assert run(["records", "import", file]) == BAD_INPUT
    assert "notes.txt, line 1: not a file of exported records" in capsys.readouterr().err
    assert [file.name for file in tmp_path.iterdir()] == ["notes.txt"]
