"""`scalewright analyse`: what it prints, and that nothing a file holds can break it."""

import contextlib
import io
import json
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.command_line.main import BAD_INPUT, PASSED, run
from scalewright.examples import EXAMPLES, example_path

ROOT = Path(__file__).parents[2]
HEADER = "load_g,load_u_g,counts,counts_u,n,direction,temperature_c\n"
# Invented: three loads up and one down.
POINTS = HEADER + "0,,1000.25,1.5,10,up,20.5\n100,,201000,1.5,10,up,\n200,,401007,2,10,up,\n100,,201003,1.5,10,down,\n"


def analyse(*words: object) -> tuple[int, str, str]:
    """Run the command in this process; return its exit code and what it wrote to stdout and stderr."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(["analyse", *map(str, words)])
    return code, out.getvalue(), err.getvalue()


def as_json(*words: object) -> dict:
    code, out, err = analyse(*words, "--json")
    assert (code, err) == (PASSED, "")
    return json.loads(out, parse_constant=pytest.fail)


@pytest.fixture
def points(tmp_path):
    file = tmp_path / "points.csv"
    file.write_text(POINTS)
    return file


def start(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the command as a user does, in a fresh interpreter."""
    code = f"import sys; sys.path[:0] = [{str(ROOT)!r}, {str(ROOT / 'host')!r}]; import scalewright.__main__ as m; "
    code += "code = m.main(); print(*sys.modules, file=sys.stderr); sys.exit(code)"
    return subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True, timeout=60)


def test_the_example_is_reported_in_lines_that_fit_a_terminal():
    done = start("analyse", "--example", "pontius")
    assert done.returncode == 0
    assert max(map(len, done.stdout.splitlines())) <= 90
    assert "counts = c0 + c1 load + c2 load^2" in done.stdout
    assert re.search(r"^c1 +7\.320591604010025e-07 +1\.57817e-10  deflection unit / load unit$", done.stdout, re.M)
    assert re.search(r"^residual standard deviation +0\.000205177 deflection unit$", done.stdout, re.M)
    assert len(re.findall(r"^ +\d+  up ", done.stdout, re.M)) == 40


def test_nothing_heavy_is_imported():
    imported = start("analyse", "--example", "pontius").stderr.split()
    assert {"numpy", "scipy", "sqlalchemy", "serial", "textual"}.isdisjoint(imported)


def test_a_bad_file_ends_with_one_line_and_exit_code_2(tmp_path):
    file = tmp_path / "points.csv"
    file.write_text(POINTS + "300,,nan,,1,,\n")
    done = start("analyse", str(file))
    first, *modules = done.stderr.splitlines()
    place = f"scalewright: {file}, line 6, column counts: "
    assert first == place + "'nan' found; expected a finite number such as 12.5"
    assert (done.returncode, done.stdout, len(modules)) == (2, "", 1)


def test_json_holds_the_same_figures_with_units_and_exact_coefficients(points):
    results = as_json(points, "--unweighted")
    # Least squares by hand: loads 0, 100, 200, 100 about their mean 100; only the ends carry slope.
    c0, c1 = results["coefficients"]
    assert Fraction(c1["exact"]) == Fraction(40000675, 20000)
    assert Fraction(c0["exact"]) == Fraction(80401025, 400) - 100 * Fraction(c1["exact"])
    assert (c0["unit"], c1["unit"]) == ("count", "count / g")
    assert c1["value"] == float(Fraction(c1["exact"]))
    assert results["residual_sd_counts"] > 0
    assert results["chi_squared"] is None
    assert [p["line"] for p in results["points"]] == [2, 3, 4, 5]
    assert sum(p["residual_counts"] for p in results["points"]) == pytest.approx(0, abs=1e-9)


def test_stated_uncertainties_weigh_unless_told_not_to(points):
    weighted, alike = as_json(points), as_json(points, "--unweighted")
    assert (weighted["weighted"], alike["weighted"]) == (True, False)
    assert weighted["chi_squared"] > 0
    assert weighted["residual_sd_counts"] is None
    assert all(c["standard_uncertainty"] for c in weighted["coefficients"])
    assert "chi-squared" in analyse(points)[1]


def test_the_load_can_be_the_response(points):
    results = as_json(points, "--response", "load")
    assert results["coefficients"][1]["value"] == pytest.approx(100 / 200_000, rel=1e-4)
    assert results["coefficients"][1]["unit"] == "g / count"
    assert "residual_g" in results["points"][0]
    assert "load = c0 + c1 counts" in analyse(points, "--response", "load")[1]


def test_the_degree_comes_from_the_option_then_the_file_then_is_1(points):
    assert len(as_json(points)["coefficients"]) == 2
    points.write_text("# degree = 2\n" + POINTS)
    assert len(as_json(points)["coefficients"]) == 3
    assert len(as_json(points, "--degree", 1)["coefficients"]) == 2
    assert [c["power"] for c in as_json(points, "--degree", 1, "--zero", "origin")["coefficients"]] == [1]


def test_figures_that_the_points_leave_undefined_are_null(points):
    points.write_text(HEADER + "0,,5,,1,,\n10,,5,,1,,\n")
    results = as_json(points)
    assert [results[key] for key in ("residual_sd_counts", "r_squared", "f_statistic")] == [None] * 3
    assert analyse(points)[1].count("undefined") == 5


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "analyse takes one FILE or one --example"),
        (["points.csv", "--example", "pontius"], "analyse takes one FILE or one --example"),
        (["--example", "pontius", "--degree", "0"], "degree 0; expected 1 to 10"),
        (["nowhere.csv"], "nowhere.csv: cannot be read: no such file or directory; expected a CSV file"),
    ],
)
def test_options_that_cannot_be_used_are_refused_in_one_line(words, message):
    code, out, err = analyse(*words)
    assert (code, out) == (BAD_INPUT, "")
    assert err.count("\n") == 1
    assert message in err


def test_results_beyond_the_doubles_are_refused(points):
    """A line through points 1e-15 g apart and one far away, missed there by 1e-15: F is near 1e660."""
    lines = [f"{k}e-15,,{k}e-15,,1,,\n" for k in range(11)] + ["9e14,,900000000000000.000000000000001,,1,,\n"]
    points.write_text('# counts_unit = "1"\n# degree = 10\n' + HEADER + "".join(lines))
    code, out, err = analyse(points)
    assert (code, out, err.count("\n")) == (BAD_INPUT, "", 1)
    assert "too large for a double" in err


def assert_it_is_read_or_refused_in_one_line(file: Path) -> None:
    for options in (["--json"], ["--response", "load"]):
        code, out, err = analyse(file, *options)
        if code == PASSED:
            assert (out != "", err) == (True, "")
            if "--json" in options:
                json.loads(out, parse_constant=pytest.fail)
        else:
            assert (code, out, err.count("\n")) == (BAD_INPUT, "", 1)
            assert err.startswith(f"scalewright: {file}")
            assert "expected" in err


PIECES = st.binary(max_size=3) | st.sampled_from([b",", b"\n", b"#", b'"'])
CHANGES = st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 3), PIECES), min_size=1, max_size=6)
"""where, how many bytes go, what comes in their place"""


@given(CHANGES, st.booleans())
@settings(max_examples=100, deadline=None)
def test_a_file_with_damaged_bytes_is_read_or_refused_in_one_line(tmp_path_factory, changes, cut):
    data = ("# degree = 1\n" + POINTS).encode() if cut else Path(example_path(EXAMPLES["pontius"])).read_bytes()
    for where, length, replacement in changes:
        where %= len(data) + 1
        data = data[:where] + replacement + data[where + length :]
    file = tmp_path_factory.getbasetemp() / "damaged.csv"
    file.write_bytes(data[: changes[0][0] % (len(data) + 1)] if cut else data)
    assert_it_is_read_or_refused_in_one_line(file)


ODD_CELLS = (
    "", "0", "-0", "0.0", "1e14", "9.99e14", "1e-15", "-1e-15", "1e15", "1e-16", "1e999", "nan", "inf", "8388606",
    "-8388607", "8388607", "1.", ".5", "+1", "1_0", "0x10", "1,5", '"', '""', "'", "\t1\t", "\x1b[31m", "\u2028",
    "\u0663", "up", "down", "1" * 49, "0." + "3" * 45, "\ufeff1", "=1+1", "-", "e5", "1e", "1\r", "\r",
)  # fmt: skip


ODD_ROWS = st.lists(st.dictionaries(st.integers(0, 6), st.sampled_from(ODD_CELLS), max_size=2), min_size=1, max_size=4)
"""by the column's place, what stands in it instead of a good value"""


@given(ODD_ROWS, st.integers(1, 4))
@settings(max_examples=100, deadline=None)
def test_odd_cells_are_read_or_refused_in_one_line(tmp_path_factory, odd_rows, degree):
    rows = [[str(k), "", str(1000 * k + k % 3), "", "1", "up", ""] for k in range(6)]
    for row, odd_cells in zip(rows, odd_rows, strict=False):
        row[:] = [odd_cells.get(column, cell) for column, cell in enumerate(row)]
    file = tmp_path_factory.getbasetemp() / "odd.csv"
    text = f"# degree = {degree}\n" + HEADER + "".join(",".join(row) + "\n" for row in rows)
    file.write_text(text, encoding="utf-8", newline="")
    assert_it_is_read_or_refused_in_one_line(file)


NUMBERS = st.decimals(-(10**14), 10**14, allow_nan=False).map(str) | st.sampled_from(["1e-15", "9e14", "0"])


@given(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=12), st.integers(1, 10))
@settings(max_examples=25, deadline=None)
def test_any_numbers_are_fitted_or_refused_in_one_line(tmp_path_factory, rows, degree):
    file = tmp_path_factory.getbasetemp() / "numbers.csv"
    lines = [f"{load},,{counts},,1,,\n" for load, counts in rows]
    file.write_text(f'# degree = {degree}\n# counts_unit = "1"\n' + HEADER + "".join(lines))
    assert_it_is_read_or_refused_in_one_line(file)


@given(st.binary(max_size=200))
@settings(deadline=None)
def test_bytes_of_any_kind_are_refused_in_one_line(tmp_path_factory, data):
    file = tmp_path_factory.getbasetemp() / "bytes.csv"
    file.write_bytes(data)
    code, out, err = analyse(file)
    assert (code, out, err.count("\n")) == (BAD_INPUT, "", 1)
