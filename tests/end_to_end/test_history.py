"""A scale that is calibrated, checked daily, drifts and is looked at again: the history that the commands then tell."""

import json
from pathlib import Path
from typing import Any

import pytest

from scalewright.command_line.main import FAILED, PASSED, run
from tests.end_to_end.test_guarded_jobs import port, set_up

SCALE = "--scale", "PLOVER-3", "--masses", "BOX-F1", "--by", "AB", "--readings", "4"


@pytest.fixture
def url(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The port of an invented scale that was adjusted, and is registered with its masses."""
    monkeypatch.chdir(tmp_path)
    url = port(tmp_path)
    set_up(url)
    return url


def told(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    capsys.readouterr()
    run([*words, "--json"])
    return json.loads(capsys.readouterr().out)


def test_what_was_done_at_the_bench_is_the_history(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--port", url, *SCALE, "--steps", "3"]) == PASSED
    for day in range(6):
        today = url.replace("seed=7", f"seed={day}")  # other noise each day
        assert run(["daily", "--port", today, *SCALE, "--loads", "1000"]) == PASSED
    history = told(capsys, "history", "--scale", "PLOVER-3")
    (calibration,) = history["calibrations"]
    loads_g = [error["load_g"] for error in calibration["as_found"]]
    assert loads_g == [1000.0012, 1999.9991, 3000.0003, 1999.9991, 1000.0012]
    assert all(0 < error["u_error_g"] < 0.5 for error in calibration["as_found"])
    (chart,) = history["charts"]
    assert (chart["load_g"], len(chart["checks"]), chart["tolerance_g"]) == (1000.0012, 6, 2.0)
    assert chart["base_line"]["source"] == "first 6 checks, provisional"

    worn = f"{url}&cell_rated_output_mv_per_v=2.01"  # 0.5 % more sensitive: 5 g at 1000 g
    assert run(["daily", "--port", worn, *SCALE, "--loads", "1000"]) == FAILED
    assert run(["history", "--scale", "PLOVER-3"]) == FAILED
    text = " ".join(capsys.readouterr().out.split())
    assert "OUTSIDE its tolerance; OUT OF CONTROL: beyond 3 sd (above)" in text
    assert "was outside its limit: calibrate before further use" in text
    due = told(capsys, "due")
    assert {item["key"]: item["state"] for item in due["items"]} == {"PLOVER-3": "no date", "BOX-F1": "fine"}
