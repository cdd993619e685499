"""`scalewright due` as a person at a shell meets it: an invented bench."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from scalewright.command_line.main import BAD_INPUT, FAILED, PASSED, run
from scalewright.records.journal import Journal
from scalewright.records.registers import add
from tests.host.records.past import Past
from tests.host.test_equipment import BOX, PLOVER, ROOM


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A scale calibrated on 28 February 2026 for twelve months; masses and thermometer due on 2 March 2027."""
    monkeypatch.chdir(tmp_path)
    with Journal("scalewright.sqlite") as journal:
        add(journal, [PLOVER, replace(PLOVER, key="SPARE", seen=None, calibrated=None)], "AB", "new")
        add(journal, [BOX], "AB", "new")
        add(journal, [ROOM], "AB", "new")


def listed(capsys: pytest.CaptureFixture[str]) -> list[tuple[str, str, int | None]]:
    items = json.loads(capsys.readouterr().out)["items"]
    return [(item["key"], item["state"], item["days_left"]) for item in items]


def test_the_list_begins_with_what_is_most_urgent(bench: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["due", "--on", "2027-03-01", "--json"]) == FAILED
    assert listed(capsys) == [
        ("PLOVER-3", "overdue", -1),
        ("SPARE", "no date", None),
        ("BOX-F1", "due soon", 1),
        ("ROOM-T", "due soon", 1),
    ]
    assert run(["due", "--on", "2027-02-28", "--soon", "0", "--json"]) == PASSED
    assert [state for _, state, _ in listed(capsys)] == ["no date", "due soon", "fine", "fine"]


def test_a_calibration_in_the_journal_moves_the_date(bench: None, capsys: pytest.CaptureFixture[str]) -> None:
    with Journal("scalewright.sqlite") as journal:
        Past(journal).calibration(datetime(2026, 11, 30, 12, tzinfo=UTC), ("0", "0", "0", "0", "0"))
    assert run(["due", "--on", "2027-03-01"]) == PASSED
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "on 2027-03-01"
    assert lines[-1].split() == ["2027-11-30", "fine", "274", "scale", "PLOVER-3", "2026-11-30"]


def test_without_a_day_it_is_today(bench: None, capsys: pytest.CaptureFixture[str]) -> None:
    before = datetime.now(UTC).date()
    run(["due", "--json"])
    on = date.fromisoformat(json.loads(capsys.readouterr().out)["on"])
    assert before <= on <= datetime.now(UTC).date()


def test_an_empty_register_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(tmp_path / "empty.sqlite")
    Journal(path).close()
    assert run(["due", "--records", path, "--on", "2026-01-01"]) == PASSED
    assert capsys.readouterr().out == "nothing is registered in these records on 2026-01-01\n"


def test_what_is_no_day_is_bad_input(bench: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["due", "--on", "2026-02-30"]) == BAD_INPUT
    assert "--on '2026-02-30'; expected a day such as 2026-03-31" in capsys.readouterr().err
