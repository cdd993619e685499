"""Three units of a design are calibrated at many loads; a fourth, at zero and full load, is right at every step."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import run

# Invented cells, 0.2 % of quadratic non-linearity: no straight line serves them.
_CELL = "seed={}&cell_nonlinearity_quadratic={}&cell_rated_output_mv_per_v={}&cell_zero_balance_mv_per_v={}"
UNITS = {
    "ash": _CELL.format(1, 0.00200, 2.00, 0.02),
    "elm": _CELL.format(2, 0.00202, 1.98, -0.05),
    "oak": _CELL.format(3, 0.00199, 2.03, 0.1),
}
NEW = _CELL.format(4, 0.00201, 2.01, 0.03)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def url(name: str, options: str) -> str:
    return f"virtual://{name}?speed=0&rate=80&serial={name}&storage=flash-{name}&{options}"


def calibrate(name: str, options: str, degree: int = 3) -> int:
    words = ["calibrate", "--port", url(name, options), "--max", "3000", "--division", "1", "--degree", str(degree)]
    return run([*words, "--observations", f"{name}.csv"])


def test_a_fourth_unit_is_right_at_every_step_after_zero_and_full_load(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert [calibrate(name, options) for name, options in UNITS.items()] == [0, 0, 0]
    files = [f"{name}.csv" for name in UNITS]
    capsys.readouterr()
    assert run(["type-curve", *files, "--max", "3000", "--output", "type.json", "--json"]) == 0
    pooled = json.loads(capsys.readouterr().out)
    assert max(step["line_error_g"] for step in pooled["steps"]) > 3
    assert 0.01 < max(step["u_shape_g"] for step in pooled["steps"]) < 0.1

    words = ["trim", "--port", url("yew", NEW), "--type-curve", "type.json", "--division", "1"]
    assert run([*words, "--json"]) == 0
    trimmed = json.loads(capsys.readouterr().out)
    assert len(trimmed["steps"]) == 21
    assert max(abs(step["error_g"]) for step in trimmed["steps"]) < 0.3  # hysteresis and creep of the cell remain
    assert run(words) == 0
    printed = capsys.readouterr()
    assert printed.out.count("  pass ") == 21
    assert "1 of 23 " in printed.err  # two loads for the trim, then the check

    assert run(["type-curve", files[0], "--max", "3000", "--output", "one.json"]) == 0
    assert run([*words[:3], "--type-curve", "one.json", "--division", "1"]) == 0
    printed = capsys.readouterr()
    assert printed.out.count("not known") == 11
    assert "the type curve comes from one unit" in printed.out


def test_a_straight_line_through_the_same_two_loads_would_fail(bench: Path) -> None:
    assert calibrate("yew", NEW, degree=1) == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["type-curve", "none.csv", "--max", "3000", "--output", "t.json"], "none.csv: cannot be read"),
        (["trim", "--port", "virtual://x", "--type-curve", "t.json", "--division", "1"], "t.json: cannot be read"),
    ],
)
def test_what_is_missing_is_one_line(
    bench: Path, words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 2
    error = capsys.readouterr().err
    assert says in error
    assert error.count("\n") == 1
    assert not list(bench.iterdir())
