"""`scalewright creep` as a shell sees it; what it computes is held in tests/host/analysis."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from tests.host.analysis.soaks import soak, write_csv
from tests.host.test_drift_command import coefficients

PLAN = [(0.0, 60.0, 20.0), (3000.0, 1820.0, 20.0), (0.0, 120.0, 20.0)]


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> str:
    quiet = soak(PLAN, step_s=0.5, zero_per_c=0.0, span_per_c=0.0)
    return write_csv(quiet, tmp_path_factory.mktemp("creep") / "creep.csv")


def as_json(words: list[str], capsys: pytest.CaptureFixture[str], code: int) -> dict:
    assert run(["creep", *words, "--json"]) == code
    return json.loads(capsys.readouterr().out)


def test_creep_and_its_time_constants_are_told(recording, capsys) -> None:
    result = as_json([recording], capsys, code=0)
    assert result["load_g"] == 3000 and result["passes"] is None
    assert result["creep_30_min_g"] == pytest.approx(3000 * (6e-5 + 4e-5 * 0.37), rel=0.06)
    assert [term["time_constant_s"] for term in result["terms"]] == pytest.approx([15, 400], rel=0.2)


def test_a_scale_passes_or_fails_by_clause(recording, capsys) -> None:
    passing = as_json([recording, "--division", "1"], capsys, code=0)
    assert passing["passes"] is True and len(passing["checks"]) == 3
    failing = as_json([recording, "--class", "II", "--division", "0.2"], capsys, code=1)
    assert [(check["passes"], check["source"]) for check in failing["checks"]] == [
        (False, "OIML R 76-1:2006, 3.9.4.1, class II"),
        (True, "OIML R 76-1:2006, 3.9.4.1, class II"),
        (False, "OIML R 76-1:2006, 3.9.4.2, class II"),
    ]


def test_a_load_cell_is_held_against_its_own_standard(recording, capsys) -> None:
    result = as_json([recording, "--cell", "C", "--capacity", "5000", "--intervals", "3000"], capsys, code=0)
    assert [check["source"][-14:] for check in result["checks"]] == [*["5.5.1, class C"] * 2, "5.5.2, class C"]


def test_coefficients_give_the_grams_and_the_division(recording, capsys) -> None:
    by_curve = as_json([recording, "--coefficients", coefficients()], capsys, code=0)
    by_line = as_json([recording], capsys, code=0)
    assert by_curve["creep_30_min_g"] == pytest.approx(by_line["creep_30_min_g"], rel=0.01)
    assert by_curve["checks"][0]["limit_g"] == 0.5


def test_the_report_and_the_plot_say_it(recording, tmp_path: Path, capsys) -> None:
    words = [recording, "--division", "0.2", "--plot-terminal", "--ascii", "--plot", str(tmp_path / "creep.png")]
    assert run(["creep", *words]) == 1
    printed = capsys.readouterr().out
    assert "FAILS" in printed and "ppm of the load" in printed and "= limit" in printed
    assert (tmp_path / "creep.png").read_bytes()[:4] == b"\x89PNG"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--cell", "C"], "--cell needs --capacity and --intervals"),
        (["--cell", "X", "--capacity", "1", "--intervals", "1"], "load-cell class 'X'"),
        (["--coefficients", "00"], "--coefficients: coefficient record"),
    ],
)
def test_what_cannot_be_used_is_one_line(recording, words, says, capsys) -> None:
    assert run(["creep", recording, *words]) == 2
    printed = capsys.readouterr()
    assert says in printed.err and printed.err.count("\n") == 1


def test_a_recording_without_a_creep_test_says_what_to_record(tmp_path: Path, capsys) -> None:
    path = write_csv(soak([(0.0, 60.0, 20.0), (3000.0, 300.0, 20.0)]), tmp_path / "short.csv")
    assert run(["creep", path]) == 2
    assert "no load was put on during the recording and stood for 30 min" in capsys.readouterr().err
