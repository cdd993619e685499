"""`scalewright history` as a person at a shell meets it: an invented scale that drifts and is checked daily."""

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import pytest

from scalewright.command_line.main import BAD_INPUT, FAILED, PASSED, run
from scalewright.records.journal import Journal
from scalewright.records.registers import add
from tests.host.records.past import Past
from tests.host.test_equipment import PLOVER

START = datetime(2024, 3, 1, 9, tzinfo=UTC)
LEFT = ("0", "0.02", "0.05", "0.01", "0")
FOUND = ("0", "0.5", "1.9", "0.55", "0")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three calibrations, the last two found the scale out of tolerance at 3000 g; 40 quiet checks since."""
    path = tmp_path_factory.mktemp("history") / "records.sqlite"
    random = Random(6)
    with Journal(path) as journal:
        add(journal, [PLOVER, replace(PLOVER, key="PLOVER-4", seen=None)], "AB", "new")
        past = Past(journal)
        past.calibration(START - timedelta(days=366), FOUND, LEFT)
        past.calibration(START, FOUND, LEFT)
        past.calibration(START + timedelta(days=365), FOUND, LEFT)
        for n in range(40):
            past.daily_check(START + timedelta(days=366 + n), f"{random.gauss(0.02, 0.05):.4f}", "NEW")
    return path


@pytest.fixture
def past(written: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copy(written, "scalewright.sqlite")


def check_again(days: int, error_g: str) -> None:
    with Journal("scalewright.sqlite") as journal:
        Past(journal).daily_check(START + timedelta(days=days), error_g, "NEW")


def test_drift_checks_and_the_next_date_are_told(past: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["history", "--scale", "PLOVER-3"]) == PASSED
    text = capsys.readouterr().out
    for part in (
        "PLOVER-3: 3 calibrations, 40 results of daily checks",
        "drift from 2023-03-01 to 2024-03-01: at most +1.85 g at 3000 g up, En +18.69; found out of tolerance",
        "drift from 2024-03-01 to 2025-03-01, 365 days",
        "CAUTION found out of tolerance on 2025-03-01: +1.9 g at 3000 g, limit 1.5 g. What was weighed",
        "base line (first 20 checks): mean +0.0",
        "tolerance +-1 g: what is permitted",
        "; in control",
        "next calibration: by 2025-11-26, the earliest of",
        "outside it, so one step shorter: 9 months",
    ):
        assert part in text
    (line,) = [line for line in text.splitlines() if line.split()[:2] == ["3000", "up"]]
    assert line.split()[2:5] == ["+0.050", "+1.900", "+1.850"] and line.endswith("significant")


def test_json_has_the_figures_with_units_in_their_names(past: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["history", "--scale", "PLOVER-3", "--json"]) == PASSED
    told = json.loads(capsys.readouterr().out)
    _, period = told["periods"]
    assert [drift["load_g"] for drift in period["drifts"]] == [1000, 3000, 1000]
    assert period["drifts"][1]["drift_g"] == pytest.approx(1.85)
    assert period["drifts"][1]["significant"] and period["out_of_tolerance"]
    (chart,) = told["charts"]
    assert len(chart["checks"]) == len(chart["ewma_g"]) == 40
    mean_g, sd_g = chart["base_line"]["mean_g"], chart["base_line"]["sd_g"]
    assert chart["upper_control_limit_g"] == pytest.approx(mean_g + 3 * sd_g)
    assert (told["proposed_due"], told["in_order"]) == ("2025-11-26", True)  # 270 days: 0.05 + 1.85 t + 2 u = 1.5
    assert {proposal["method"].split()[0] for proposal in told["proposals"]} == {"staircase", "drift"}


def test_a_check_out_of_the_ordinary_fails_and_says_what_it_means(
    past: None, capsys: pytest.CaptureFixture[str]
) -> None:
    check_again(420, "0.9")
    assert run(["history", "--scale", "PLOVER-3"]) == FAILED
    text = capsys.readouterr().out
    assert "newest +0.9 g; OUT OF CONTROL: beyond 3 sd (above), EWMA (above)" in text
    assert "2025-04-25  beyond 3 sd, above: not like the others" in text
    assert "OUTSIDE its tolerance" not in text


def test_a_check_outside_its_tolerance_is_due_at_once(past: None, capsys: pytest.CaptureFixture[str]) -> None:
    check_again(420, "-1.2")
    assert run(["history", "--scale", "PLOVER-3"]) == FAILED
    text = capsys.readouterr().out
    assert "newest -1.2 g: OUTSIDE its tolerance; OUT OF CONTROL" in text
    assert "next calibration: by 2025-04-25, the earliest of" in text


def test_a_stated_base_line_and_other_rules_are_taken(past: None, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["history", "--scale", "PLOVER-3", "--mean", "0", "--sd", "0.01", "--rules", "all", "--json"]
    assert run(words) == FAILED
    (chart,) = json.loads(capsys.readouterr().out)["charts"]
    assert chart["base_line"] == {"mean_g": 0, "sd_g": 0.01, "source": "stated"}
    assert "beyond 3 sd" in {signal["rule"] for signal in chart["signals"]}


@pytest.mark.parametrize(
    ("options", "complaint"),
    [
        (["--scale", "PLOVER-9"], "PLOVER-9"),
        (["--scale", "PLOVER-3", "--mean", "0"], "--mean and --sd go together"),
        (["--scale", "PLOVER-3", "--mean", "0", "--sd", "0"], "base line: mean 0, sd 0"),
        (["--scale", "PLOVER-3", "--base", "3"], "--base 3; expected 5 or more"),
        (["--scale", "PLOVER-3", "--intervals", "6,x"], "--intervals 'x'; expected a number from 1 and up to 120"),
        (["--scale", "PLOVER-3", "--intervals", "6,3"], "intervals (6, 3) months; expected one or more, rising"),
        (["--scale", "PLOVER-3", "--within", "2"], "lengthen within 2 of the limit"),
    ],
)
def test_bad_input_is_one_line(
    past: None, capsys: pytest.CaptureFixture[str], options: list[str], complaint: str
) -> None:
    assert run(["history", *options]) == BAD_INPUT
    (line,) = capsys.readouterr().err.splitlines()
    assert complaint in line


def test_a_laboratory_has_its_own_intervals(past: None, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["history", "--scale", "PLOVER-3", "--intervals", "4,12,24", "--json"]
    assert run(words) == PASSED
    told = json.loads(capsys.readouterr().out)
    assert told["proposed_due"] == "2025-07-01"  # found outside: a step down from 12 months is 4


def test_charts_are_drawn_as_text_and_as_a_file(past: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["history", "--scale", "PLOVER-3", "--plot", "history.svg", "--plot-terminal", "--ascii"]) == PASSED
    text = capsys.readouterr().out
    for title in ("Error at 3000 g up", "Daily checks at 1000 g", "Moving average (EWMA) at 1000 g"):
        assert title in text
    assert Path("history.svg").read_text("utf-8").startswith("<?xml")


def test_a_scale_without_history_says_so(past: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["history", "--scale", "PLOVER-4", "--plot-terminal"]) == PASSED
    assert capsys.readouterr().out.splitlines() == [
        "PLOVER-4: 0 calibrations, 0 results of daily checks",
        "",
        "next calibration: now, for there is none in these records",
    ]
