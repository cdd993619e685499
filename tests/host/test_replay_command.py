"""`scalewright replay` from file to report."""

import csv
import json

import numpy as np
import pytest

from scalewright.analysis.replay import replay
from scalewright.command_line.main import run
from shared_calc.coefficient_record import encode, identity
from shared_calc.reading import FAULTS, format_flags
from tests.on_micropython.shared_calc_vectors import calibrated, load_history

RECORD = calibrated(3)
HEX = encode(RECORD).hex()


@pytest.fixture
def recording(tmp_path):
    """A CSV recording of 500 readings, some of which never came."""
    file = tmp_path / "recording.csv"
    rows = [f"{k / 80},{'' if counts is None else counts},,\n" for k, counts in enumerate(load_history(1, 500))]
    file.write_text("time_s,counts,temperature_c,load_g\n" + "".join(rows))
    return file


def replayed():
    return replay([-(1 << 31) if counts is None else counts for counts in load_history(1, 500)], RECORD)


def test_the_report_as_json(recording, capsys) -> None:
    assert run(["replay", str(recording), "--coefficients", HEX, "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    readings = replayed()
    shown = readings.divisions[readings.flags & FAULTS == 0] / 10
    assert result == {
        "file": str(recording),
        "coefficients_crc": identity(encode(RECORD)),
        "readings": 500,
        "at_rest": int(np.count_nonzero(readings.flags & (FAULTS | 64) == 0)),
        "flags": {name: result["flags"][name] for name in result["flags"]},
        "lowest_g": shown.min(),
        "highest_g": shown.max(),
        "last_g": shown[-1],
    }
    assert result["flags"]["MOVING"] == np.count_nonzero(readings.flags & 64)
    assert result["flags"]["NO_DATA"] == np.count_nonzero(readings.flags & 1)


def test_the_report_in_words_and_coefficients_from_a_file(recording, tmp_path, capsys) -> None:
    (tmp_path / "coefficients.txt").write_text(f'"{HEX}"\n')
    assert run(["replay", str(recording), "--coefficients", str(tmp_path / "coefficients.txt")]) == 0
    out = capsys.readouterr().out
    assert identity(encode(RECORD)) in out and "readings     500" in out and "MOVING" in out


def test_every_reading_as_csv(recording, tmp_path, capsys) -> None:
    out = tmp_path / "out.csv"
    assert run(["replay", str(recording), "--coefficients", HEX, "--csv", str(out)]) == 0
    lines = out.read_text().splitlines()
    assert lines[:2] == [f'# recording = "{recording}"', f'# coefficients = "{identity(encode(RECORD))}"']
    rows = list(csv.DictReader(lines[2:]))
    readings, history = replayed(), load_history(1, 500)
    for k, row in enumerate(rows):
        flags = int(readings.flags[k])
        assert float(row["time_s"]) == k / 80
        assert row["counts"] == ("" if history[k] is None else str(history[k]))
        assert row["conditioned_counts"] == str(readings.conditioned[k])
        assert row["indication_g"] == ("" if flags & FAULTS else f"{int(readings.divisions[k]) / 10:.1f}")
        assert row["flags"] == format_flags(flags)
    assert len(rows) == 500


def test_counts_alone(tmp_path, capsys) -> None:
    np.save(tmp_path / "counts.npy", np.full(40, 3_000_000))
    out = tmp_path / "out.csv"
    words = ["replay", str(tmp_path / "counts.npy"), "--coefficients", HEX, "--csv", str(out), "--json"]
    assert run(words) == 0
    assert json.loads(capsys.readouterr().out)["at_rest"] == 40 - 15
    assert out.read_text().splitlines()[-1] == ",3000000,3000000,112.1,OK"


def test_bad_input_is_one_line_and_leaves_nothing_half_written(tmp_path, capsys) -> None:
    good = tmp_path / "good.csv"
    good.write_text("time_s,counts,temperature_c,load_g\n" + "1,2,,\n" * 9 + "1,x,,\n")
    out = tmp_path / "out.csv"
    out.write_text("before")
    for words in (
        [str(good), "--coefficients", HEX, "--csv", str(out)],
        [str(tmp_path / "absent.csv"), "--coefficients", HEX],
        [str(good), "--coefficients", HEX[:-2]],
        [str(good), "--coefficients", "none"],
    ):
        assert run(["replay", *words]) == 2
        said = capsys.readouterr()
        assert said.out == "" and said.err.count("\n") == 1
    assert out.read_text() == "before"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["good.csv", "out.csv"]


def test_where_the_output_cannot_be_written_nothing_is(recording, tmp_path, capsys) -> None:
    assert run(["replay", str(recording), "--coefficients", HEX, "--csv", str(tmp_path / "no" / "out.csv")]) == 3
    assert "cannot be written" in capsys.readouterr().err
