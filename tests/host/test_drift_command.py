"""`scalewright drift` as a shell sees it; what it computes is held in tests/host/analysis."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from shared_calc.calibration import curve_through
from shared_calc.coefficient_record import CoefficientRecord, decode, encode
from shared_calc.temperature import Compensation
from tests.host.analysis.soaks import CAPACITY_COUNTS, soak, through_the_range, write_csv

BAD_CELL = {"zero_per_c": 1e-4, "span_per_c": -3e-4}
ZERO = 42_950  # counts of the invented cell of load_cell.py when nothing is on it
CURVE = curve_through([ZERO, ZERO + round(CAPACITY_COUNTS * 0.6)], 1, [0, 3000], [1, 1], 1, 1, -300_000, 3_200_000)


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("soaks")
    return write_csv(soak(through_the_range([20, 35, 10, 20], 3000.0, 30), step_s=2.0, **BAD_CELL), folder / "soak.csv")


def coefficients(compensation: Compensation | None = None) -> str:
    return encode(CoefficientRecord(CURVE, 1, 0, 3000, compensation)).hex()


def as_json(words: list[str], capsys: pytest.CaptureFixture[str], code: int) -> dict:
    assert run(["drift", *words, "--json"]) == code
    return json.loads(capsys.readouterr().out)


def test_a_scale_that_drifts_too_much_fails_by_clause(recording, capsys) -> None:
    result = as_json([recording, "--class", "III", "--division", "1"], capsys, code=1)
    assert result["as_found"]["zero_g_per_c"] == pytest.approx(0.5, rel=0.01)
    assert result["as_found"]["span_per_c"] == pytest.approx(-3e-4, rel=0.01)
    at_no_load, at_load = result["as_found"]["checks"]
    assert (at_no_load["passes"], at_no_load["limit_g"]) == (False, 1.0)
    assert at_no_load["source"] == "OIML R 76-1:2006, 3.9.2.3, class III"
    assert at_load["change_g"] == pytest.approx(-3e-4 * 12.5 * 3000, rel=0.05)
    assert result["compensated"]["passes"] is True
    assert abs(result["compensated"]["zero_g_per_c"]) < 0.002
    assert result["coefficients"] is None


def test_the_report_says_it_in_words(recording, capsys) -> None:
    assert run(["drift", recording, "--division", "1", "--plot-terminal", "--ascii"]) == 1
    printed = capsys.readouterr().out
    for words in (
        "3.9.2.3, class III",
        "as found: FAILS",
        "in the same recording: passes",
        "a quadratic zero: not worth it",
        "Error at 3000 g, zero set",
        "only the range that was recorded is judged here",
    ):
        assert words in printed
    assert printed.isascii()


def test_without_a_division_there_is_nothing_to_fail(recording, capsys) -> None:
    assert as_json([recording], capsys, code=0)["as_found"]["passes"] is None


def test_coefficients_come_back_with_the_compensation_in_them(recording, capsys) -> None:
    result = as_json([recording, "--coefficients", coefficients(), "--reference", "20"], capsys, code=1)
    record = decode(bytes.fromhex(result["coefficients"]))
    assert encode(record)[:32] == encode(CoefficientRecord(CURVE, 1, 0, 3000))[:32]  # the curve is as it was
    assert record.compensation.fields[0] == 320
    assert result["as_found"]["checks"][0]["limit_g"] == 1.0  # e is the division of the coefficients


def test_what_the_scale_compensates_already_is_taken_off_what_was_found(recording, tmp_path: Path, capsys) -> None:
    first = as_json([recording, "--coefficients", coefficients(), "--reference", "20"], capsys, code=1)
    file = tmp_path / "coefficients.txt"
    file.write_text(f'"{first["coefficients"]}"\n')
    again = as_json([recording, "--coefficients", str(file)], capsys, code=0)
    assert abs(again["as_found"]["zero_g_per_c"]) < abs(first["as_found"]["zero_g_per_c"]) / 100
    assert again["as_found"] == again["compensated"]
    assert again["coefficients"] == first["coefficients"]


def test_plots_are_drawn(recording, tmp_path: Path, capsys) -> None:
    assert run(["drift", recording, "--plot", str(tmp_path / "drift.svg"), "--json", "--plot-terminal"]) == 0
    printed = capsys.readouterr()
    json.loads(printed.out)
    assert "What temperature and creep leave" in printed.err
    assert (tmp_path / "drift.svg").read_text(encoding="utf-8").count('<g id="axes_') == 3


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--coefficients", "00"], "--coefficients: coefficient record of 1 bytes"),
        (["--coefficients", "zz"], "--coefficients: non-hexadecimal"),
        (["--coefficients", coefficients()], "--reference is missing: at which temperature was this scale calibrated?"),
        (["--store"], "--store needs --port"),
        (["--port", "virtual://x", "--coefficients", "00"], "--coefficients or --port, not both"),
        (["--division", "0"], "e = 0 g"),
        (["--settle", "-1"], "--settle '-1'; expected a number from 0"),
        (["--reference", "300"], "--reference '300'; expected a number from -55 and up to 125"),
        (["--plot", "drift.jpg"], "a plot ends in .svg or .png"),
    ],
)
def test_what_cannot_be_used_is_one_line(recording, words, says, capsys) -> None:
    assert run(["drift", recording, *words]) == 2
    printed = capsys.readouterr()
    assert says in printed.err and printed.err.count("\n") == 1


def test_a_recording_of_nothing_says_so(tmp_path: Path, capsys) -> None:
    path = write_csv(soak([(0.0, 300.0, 20.0)], step_s=1.0), tmp_path / "short.csv")
    assert run(["drift", path]) == 2
    assert "the temperature hardly changes" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["drift", "creep"])
@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "the file is empty"),
        (b"\x00\xff\xfe", "expected text in UTF-8"),
        (b"time_s,counts\n1,2\n", "missing from the header"),
        (b"time_s,counts,temperature_c,load_g\n", "no row below the header"),
        (b"time_s,counts,temperature_c,load_g\n1,heavy,20,0\n", "line 2, column counts"),
        (b"time_s,counts,temperature_c,load_g\n1,9000000,20,0\n", "line 2, column counts"),
        (b"time_s,counts,temperature_c,load_g\n" + b"".join(b"%d,5,20,\n" % k for k in range(20)), "load_g is empty"),
        (b"time_s,counts,temperature_c,load_g\n" + b"1,5,20,0\n" * 20, "do not rise"),
        (b"time_s,counts,temperature_c,load_g\n1,5,20,0\n", "1 readings; expected 8 at least"),
        (b"time_s,counts,temperature_c,load_g\n1,5,nan,0\n", "line 2, column temperature_c"),
    ],
)
def test_a_damaged_recording_is_one_line(command, content, says, tmp_path: Path, capsys) -> None:
    path = tmp_path / "damaged.csv"
    path.write_bytes(content)
    assert run([command, str(path)]) == 2
    printed = capsys.readouterr()
    assert says in printed.err and "damaged.csv" in printed.err and printed.err.count("\n") == 1
