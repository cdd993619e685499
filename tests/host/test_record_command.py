"""`scalewright record` as a shell sees it."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import run

PORT = ["--port", "virtual://bench?speed=0"]


def test_a_load_is_recorded_for_as_long_as_was_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "night.csv"
    assert run(["record", *PORT, "--duration", "0.5min", "--load", "0", str(path), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result == {"file": str(path), "readings": 300, "without_counts": 0, "missed": 0}
    lines = path.read_text().splitlines()
    assert lines[:4] == ['# scale = "bench"', lines[1], '# coefficients = "none"', "time_s,counts,temperature_c,load_g"]
    assert len(lines) == 304 and all(line.endswith(",0") for line in lines[4:])


def test_steps_go_through_loads_and_temperatures(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "soak.csv"
    steps = ["--step", "0:10s@20", "--step", "500.5:20s@25", "--step", "0:5s"]
    assert run(["record", *PORT, *steps, str(path)]) == 0
    assert "350 readings; 0 without counts left out, 0 lost on the line" in capsys.readouterr().out
    loads = [line.split(",")[3] for line in path.read_text().splitlines()[4:]]
    assert [loads.count(load) for load in ("0", "500.5")] == [150, 200]


def test_what_is_interrupted_is_kept(tmp_path: Path, capsys) -> None:
    """Here by a load that nobody can place; a lost line or Ctrl-C ends it the same way."""
    path = tmp_path / "soak.csv"
    url = f"virtual://bench?speed=0&storage={tmp_path / 'flash'}"
    words = ["record", "--port", url, "--step", "0:3s", "--step", "9e9:3s", str(path)]
    assert run(words) == 3
    assert f"{path}: 30 readings until then are kept" in capsys.readouterr().err
    assert len(path.read_text().splitlines()) == 34


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "one --duration, or one --step or more"),
        (["--duration", "10s", "--step", "0:1s"], "one --duration, or one --step or more"),
        (["--duration", "10"], "expected a time such as 90s, 30min or 12h"),
        (["--duration", "0s"], "expected a number from 0.1"),
        (["--duration", "1s", "--load", "heavy"], "--load 'heavy'; expected a number"),
        (["--step", "0"], "expected LOAD:TIME[@AIR_C]"),
        (["--step", "0:1s@hot"], "expected a number from -40 and up to 85"),
    ],
)
def test_what_cannot_be_recorded_is_one_line_and_leaves_nothing(words, says, tmp_path: Path, capsys) -> None:
    assert run(["record", *PORT, *words, str(tmp_path / "a.csv")]) == 2
    printed = capsys.readouterr()
    assert says in printed.err and printed.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
