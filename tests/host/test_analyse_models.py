"""`scalewright analyse` with other models than the weighted polynomial, and what it says of doubtful points."""

import json
import re
import warnings
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scalewright.command_line.main import BAD_INPUT, PASSED
from tests.host.test_analyse_command import analyse, as_json, start

HEADER = "load_g,load_u_g,counts,counts_u,n,direction,temperature_c,masses\n"
# Invented: a scale of 1500 counts a gram and a little hysteresis; one set of three masses.
ROWS = [
    "0,0,84010,20,16,up,,",
    "500,0.002,834030,20,16,up,,500",
    "1000,0.004,1584020,20,16,up,,500+500*",
    "2000,0.01,3084010,20,16,up,,2000",
    "3000,0.01,4583980,20,16,up,,2000+500+500*",
    "2000,0.01,3084040,20,16,down,,2000",
    "1000,0.004,1584050,20,16,down,,500 + 500*",
    "500,0.002,834020,20,16,down,,500*",
    "0,0,84020,20,16,down,,",
]
SET = "name,mass_g,u_mass_g\n500,500.0012,0.002\n500*,499.9993,0.002\n2000,2000.004,0.008\n"
MODELS = ["effective-variance", "errors-in-both", "shared-masses", "piecewise", "two-curve"]


@pytest.fixture
def points(tmp_path) -> Path:
    file = tmp_path / "points.csv"
    file.write_text(HEADER + "\n".join(ROWS) + "\n")
    return file


@pytest.fixture
def masses(tmp_path) -> Path:
    file = tmp_path / "set.csv"
    file.write_text(SET)
    return file


@pytest.mark.parametrize("model", MODELS)
def test_every_model_reports_its_points_and_doubts_in_lines_that_fit_a_terminal(points, masses, model):
    words = (points, "--model", model, "--mass-set", masses, "--max", "3500")
    code, out, err = analyse(*words)
    assert (code, err) == (PASSED, "")
    assert max(map(len, out.splitlines())) <= 90
    assert len(re.findall(r"^ +\d+  (?:up|down) ", out, re.M)) == len(ROWS)
    assert "Max is 3500: the last 14.3% is extrapolated" in out
    results = as_json(*words)
    assert [p["line"] for p in results["points"]] == list(range(2, 11))
    assert all(isinstance(p["residual_counts"], float) for p in results["points"])


@pytest.mark.parametrize("model", ["effective-variance", "errors-in-both", "shared-masses"])
@pytest.mark.parametrize("zero", ["free", "observed"])
def test_models_that_weigh_by_both_uncertainties_give_nearly_one_line(points, masses, model, zero):
    results = as_json(points, "--model", model, "--mass-set", masses, "--zero", zero)
    slope = next(c for c in results["coefficients"] if c["power"] == 1)
    assert slope["value"] == pytest.approx(1500, abs=0.02)
    assert 0.003 < slope["standard_uncertainty"] < 0.02
    assert (slope["unit"], results["zero_counts"]) == ("count / g", 84015 if zero == "observed" else 0)
    assert len(results["coefficients"]) == (1 if zero == "observed" else 2)


def test_chi_squared_is_held_against_its_limit(points):
    results = as_json(points, "--model", "errors-in-both")
    assert (results["degrees_of_freedom"], results["is_consistent"]) == (7, True)
    assert results["chi_squared_limit_95"] == pytest.approx(14.067, abs=5e-4)  # chi-squared tables, 7 degrees
    points.write_text(points.read_text().replace(",20,16", ",5,16"))
    assert not as_json(points, "--model", "errors-in-both")["is_consistent"]
    assert "EXCEEDED" in analyse(points, "--model", "errors-in-both")[1]


def test_loads_of_a_set_are_what_its_masses_make(points, masses):
    results = as_json(points, "--model", "shared-masses", "--mass-set", masses)
    assert [p["load_g"] for p in results["points"]][:5] == [0, 500.0012, 1000.0005, 2000.004, 3000.0045]
    # Masses of one standard share their error: the slope is less sure than of independent masses.
    alone = as_json(points, "--model", "shared-masses", "--mass-set", masses, "--correlation", "0")
    assert results["covariance"][1][1] > alone["covariance"][1][1]


def test_hysteresis_is_reported_per_load_and_as_a_fraction_of_max(points):
    results = as_json(points, "--model", "two-curve", "--max", "3000")
    hysteresis = results["hysteresis"]
    assert [d["load_g"] for d in hysteresis["observed"]] == [0, 500, 1000, 2000]
    assert hysteresis["widest"]["difference_g"] == pytest.approx(30 / 1500, rel=1e-4)
    assert hysteresis["fraction_of_max"] == pytest.approx(30 / 1500 / 3000, rel=1e-4)
    assert results["up"]["coefficients"][1]["value"] == pytest.approx(1500, abs=0.05)


def test_pieces_have_a_knot_at_every_load(points):
    results = as_json(points, "--model", "piecewise", "--unweighted")
    assert [knot["load_g"] for knot in results["knots"]] == [0, 500, 1000, 2000, 3000]
    assert results["knots"][1]["counts"] == 834025
    points.write_text(HEADER + "\n".join(ROWS[:5]) + "\n")
    knots = as_json(points, "--model", "piecewise", "--response", "load", "--unweighted")["knots"]
    assert knots[1] == {"counts": 834030, "load_g": 500}


def test_the_comparison_takes_the_degree_that_is_needed_and_says_why():
    results = as_json("--example", "pontius", "--compare")
    assert results["comparison"]["degree"] == 2
    assert len(results["coefficients"]) == 3
    assert [c["degree"] for c in results["comparison"]["degrees"]] == [1, 2, 3]
    assert results["comparison"]["degrees"][1]["left_out_rms_counts"] == pytest.approx(0.0002149, rel=1e-3)
    done = start("analyse", "--example", "pontius", "--compare")
    assert "Degree 2 is taken:" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 90
    assert {"numpy", "scipy"}.isdisjoint(done.stderr.split())


def test_a_misread_row_is_named_and_kept(points):
    rows = [f"{100 * k},,{1000 + 1500 * 100 * k + (400 if k == 7 else k % 3)},,1,up," for k in range(11)]
    points.write_text(HEADER.replace(",masses", "") + "\n".join(rows) + "\n")
    results = as_json(points)
    (outlier,) = results["outliers"]
    assert outlier["line"] == 9
    assert len(results["points"]) == 11
    assert "line 9 lies" in analyse(points)[1]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--model", "shared-masses"], "expected --mass-set FILE"),
        (["--model", "two-curve", "--response", "load"], "expected counts"),
        (["--model", "piecewise", "--compare"], "--compare with --model piecewise"),
        (["--model", "shared-masses", "--mass-set", "nowhere.csv"], "nowhere.csv: cannot be read"),
        (["--model", "errors-in-both", "--degree", "5"], "do not determine degree 5"),
    ],
)
def test_models_that_lack_something_say_what(points, words, message):
    code, out, err = analyse(points, *words)
    assert (code, out, err.count("\n")) == (BAD_INPUT, "", 1)
    assert message in err


@pytest.mark.parametrize(
    ("model", "old", "new", "message"),
    [
        ("shared-masses", "2000+500+500*", "2000+500+200", r"line 6, column masses: '200' is not in the set"),
        ("shared-masses", "500 + 500*", "2000", r"line 8, column masses: the masses make 2000\.004 g; expected 1000 g"),
        ("shared-masses", "masses\n", "weights\n", "column masses: no such column"),
        ("shared-masses", ",20,16", ",,16", "column counts_u: not stated"),
        ("errors-in-both", "834030,20", "834030,", "line 3, column counts_u: nothing found"),
        ("two-curve", "16,up", "16,", "line 2, column direction: nothing found; expected up or down"),
        ("piecewise", "4583980", "3084000", "expected them to rise all the way"),
    ],
)
def test_rows_that_a_model_can_not_use_are_named(points, masses, model, old, new, message):
    points.write_text(points.read_text().replace(old, new))
    code, _, err = analyse(points, "--model", model, "--mass-set", masses)
    assert (code, err.count("\n")) == (BAD_INPUT, 1)
    assert re.search(message, err)


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("500,500,0.001", "line 5, column name: '500' found"),
        ("1+1,2,0.001", "column name"),
        (",2,0.001", "column name"),
        ("10,0,0.001", "column mass_g"),
        ("10,10,-0.001", "column mass_g"),
        ("10,ten,0.001", "column mass_g: 'ten' found"),
    ],
)
def test_a_set_of_masses_that_can_not_be_used_is_refused_by_its_row(points, masses, row, message):
    masses.write_text(SET + row + "\n")
    code, _, err = analyse(points, "--model", "shared-masses", "--mass-set", masses)
    assert (code, err.count("\n")) == (BAD_INPUT, 1)
    assert message in err


LOADS = st.sampled_from(["0", "100", "200", "200.0000001", "300", "-50", "1e-15", "9e14", "1000", "3000"])
COUNTS = st.integers(-8_000_000, 8_000_000).map(str) | st.sampled_from(["0", "1e-15", "8e6"])
U = st.sampled_from(["", "0", "1e-15", "0.5", "9e14"])
ROW = st.tuples(LOADS, U, COUNTS, U, st.just("1"), st.sampled_from(["up", "down", ""]), st.just(""), st.just(""))


@settings(deadline=None, max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(ROW, min_size=1, max_size=8),
    model=st.sampled_from(MODELS),
    degree=st.integers(1, 4),
    zero=st.sampled_from(["free", "origin", "observed"]),
    response=st.sampled_from(["counts", "load"]),
)
def test_whatever_the_numbers_it_is_a_result_or_one_clear_line(points, masses, rows, model, degree, zero, response):
    points.write_text(HEADER + "".join(",".join(row) + "\n" for row in rows))
    options = ["--model", model, "--degree", degree, "--zero", zero, "--response", response, "--mass-set", masses]
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for json_too in ([], ["--json"]):
            code, out, err = analyse(points, *options, *json_too)
            assert (code, out == "", err.count("\n")) in ((PASSED, False, 0), (BAD_INPUT, True, 1))
            if json_too and code == PASSED:
                json.loads(out, parse_constant=pytest.fail)


@pytest.mark.parametrize("text", ["-5", "0", "heavy", "nan"])
def test_max_must_be_a_mass(text):
    code, out, err = analyse("--example", "pontius", f"--max={text}")
    assert (code, out, err.count("\n")) == (BAD_INPUT, "", 1)
    assert f"--max '{text}'" in err
