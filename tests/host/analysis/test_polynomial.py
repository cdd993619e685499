"""The fit against certified values, a standard's worked examples, and independent libraries."""

import csv
import json
import math
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.analysis.agreement import agreeing_digits
from scalewright.analysis.polynomial import PolynomialFit, fit_observations, fit_polynomial, nearest_sqrt
from scalewright.errors import InputError
from scalewright.quantities import Observation
from scalewright.recordings import OBSERVATION_COLUMNS, Observations, read_observations
from shared_calc.fit import FitError

REFERENCE = Path(__file__).parents[2] / "reference_data"
STRD = REFERENCE / "nist_strd"
POLYNOMIALS = ["noint1", "norris", "pontius", "wampler1", "wampler2", "wampler3", "wampler5"]


def certified(name: str) -> dict:
    return json.loads((STRD / f"{name}.json").read_text())


def data(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((STRD / f"{name}.csv").read_text().splitlines()))


def strd_fit(name: str, folder: Path, response: str = "counts") -> PolynomialFit:
    """Put a data set into our file format and fit it as the command does; its y is the response."""
    y, x = ("counts", "load_g") if response == "counts" else ("load_g", "counts")
    lines = [{**dict.fromkeys(OBSERVATION_COLUMNS, ""), "n": "1", y: row["y"], x: row["x"]} for row in data(name)]
    text = '# counts_unit = "1"\n' + ",".join(OBSERVATION_COLUMNS) + "\n"
    file = folder / f"{name}.csv"
    file.write_text(text + "".join(",".join(line.values()) + "\n" for line in lines))
    values = certified(name)
    zero = "free" if values["intercept"] else "origin"
    return fit_observations(read_observations(file), values["degree"], response, zero=zero)


@pytest.mark.parametrize("response", ["counts", "load"])
@pytest.mark.parametrize("name", POLYNOMIALS)
def test_every_certified_figure_comes_back_to_14_digits_or_more(name, response, tmp_path):
    fit, values = strd_fit(name, tmp_path, response), certified(name)
    figures = [
        *zip(map(float, fit.coefficients), values["estimates"], strict=True),
        *zip(fit.standard_errors, values["std_errors"], strict=True),
        (fit.residual_sd, values["residual_sd"]),
        (fit.r_squared, values["r_squared"]),
        (float(fit.residual_sum), values["ss_residual"]),
        (float(fit.total_sum - fit.residual_sum), values["ss_regression"]),
    ]
    if values["f_statistic"] == "Infinity":
        assert fit.f_statistic is None
    else:
        figures.append((fit.f_statistic, values["f_statistic"]))
    assert min(agreeing_digits(value, text) for value, text in figures) >= 14


@pytest.mark.parametrize("name", POLYNOMIALS)
def test_coefficients_are_exact_to_every_one_of_21_digits(name, tmp_path):
    fit, texts = strd_fit(name, tmp_path), certified(name)["exact_21_digits"]["estimates"]
    assert [agreeing_digits(c, text) for c, text in zip(fit.coefficients, texts, strict=True)] == [21] * len(texts)


def pontius(degree: int, averaged: bool = False) -> PolynomialFit:
    rows = [(int(r["x"]), Decimal(r["y"])) for r in data("pontius")]
    if averaged:
        rows = [(x, (y1 + y2) / 2) for (x, y1), (_, y2) in zip(rows[:20], rows[20:], strict=True)]
    return fit_polynomial([x for x, _ in rows], [y for _, y in rows], degree)


DERIVED = json.loads((STRD / "pontius_derived.json").read_text())


def test_the_straight_line_through_the_certified_data_is_the_derived_one():
    line = pontius(1)
    expected = DERIVED["linear_fit"]
    assert list(map(float, line.coefficients)) == pytest.approx([expected["b0"], expected["b1"]], rel=1e-11)
    assert line.residual_sd == pytest.approx(expected["residual_sd"], rel=1e-11)
    assert float(line.residual_sum) == pytest.approx(expected["rss"], rel=1e-11)


def test_the_f_ratio_of_quadratic_to_line_is_the_derived_one():
    line, quadratic = pontius(1), pontius(2)
    f = (line.residual_sum - quadratic.residual_sum) / quadratic.residual_variance
    assert float(f) == pytest.approx(DERIVED["quadratic_vs_linear_F"], rel=1e-11)


def test_the_inverse_loads_lie_on_the_curve():
    quadratic = pontius(2)
    for point in DERIVED["inverse_from_certified_quadratic"]:
        assert float(quadratic.evaluate(Decimal(str(point["load"])))) == pytest.approx(point["deflection"], rel=1e-11)


@pytest.mark.parametrize("degree", [1, 2, 3, 4, 5])
def test_residual_sd_by_degree_on_averaged_readings_is_the_derived_one(degree):
    # ASTM E74 chooses the degree from these; the derived figures have 8 digits.
    assert pontius(degree, averaged=True).residual_sd == pytest.approx(
        DERIVED["e74_style"]["s_by_degree"][str(degree)], rel=1e-7
    )


LINES = json.loads((REFERENCE / "iso_ts_28037_lines.json").read_text())["examples"]


@pytest.mark.parametrize("name", sorted(LINES))
def test_the_standards_straight_lines_come_back_to_the_printed_digits(name):
    """ISO/TS 28037:2010, 6.3 (uncertainties stated) and annex E (from the scatter); printed to three decimals."""
    example = LINES[name]
    u = [Decimal(str(v)) for v in example["u_y"]] if "u_y" in example else None
    fit = fit_polynomial(example["x"], [Decimal(str(v)) for v in example["y"]], 1, u=u)
    published = example["published"]
    errors = fit.standard_errors if u is None else fit.standard_uncertainties
    factor = fit.residual_variance if u is None else 1
    assert list(map(float, fit.coefficients)) == pytest.approx([published["a"], published["b"]], abs=5.001e-4)
    assert errors == pytest.approx((published["u_a"], published["u_b"]), abs=5.001e-4)
    assert float(fit.covariance_factor[0][1] * factor) == pytest.approx(published["cov_ab"], abs=5.001e-4)
    chi_squared = published["rss"] if u is None else published["chi2"]
    assert float(fit.residual_sum) == pytest.approx(chi_squared, abs=5.001e-4)
    assert fit.degrees_of_freedom == published["dof"]


def random_calibration(seed: int) -> tuple[list[int], list[Decimal], list[Decimal]]:
    random = numpy.random.default_rng(seed)
    loads = list(range(0, 3001, 300)) * 2
    noise = random.integers(-999, 999, 22)
    counts = [Decimal(100_000 + 1500 * load) + Decimal(int(v)) / 8 for load, v in zip(loads, noise, strict=True)]
    return loads, counts, [Decimal(int(v)) / 16 for v in random.integers(1, 99, 22)]


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("degree", [1, 2, 3])
def test_numpy_finds_the_same_weighted_curve_and_covariance(degree, seed):
    loads, counts, u = random_calibration(seed)
    fit = fit_polynomial([Fraction(load, 3000) for load in loads], counts, degree, u=u)
    x, y, weights = numpy.array(loads) / 3000, numpy.array(counts, float), 1 / numpy.array(u, float)
    c, covariance = numpy.polyfit(x, y, degree, w=weights, cov="unscaled")
    assert list(map(float, fit.coefficients)) == pytest.approx(list(c[::-1]), rel=1e-9, abs=1e-3)
    assert numpy.array(fit.covariance_factor, float) == pytest.approx(covariance[::-1, ::-1], rel=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_scipy_finds_the_same_straight_line_standard_errors_and_r_squared(seed):
    loads, counts, _ = random_calibration(seed)
    fit = fit_polynomial(loads, counts, 1)
    line = scipy.stats.linregress(loads, numpy.array(counts, float))
    assert list(map(float, fit.coefficients)) == pytest.approx([line.intercept, line.slope], rel=1e-9)
    assert fit.standard_errors == pytest.approx((line.intercept_stderr, line.stderr), rel=1e-6)
    assert fit.r_squared == pytest.approx(line.rvalue**2, rel=1e-12)


DECIMALS = st.decimals(-1000, 1000, places=3)
POINTS = st.lists(st.tuples(DECIMALS, DECIMALS, st.decimals("0.001", 10, places=3)), min_size=1, max_size=8)


@settings(deadline=None)
@given(points=POINTS, degree=st.integers(1, 4), through_zero=st.booleans(), weighted=st.booleans())
def test_residuals_are_exactly_orthogonal_to_every_power_or_the_fit_is_refused(points, degree, through_zero, weighted):
    """That is what makes a curve the least-squares one (the normal equations)."""
    x, y, u = zip(*points, strict=True)
    used = {value for value in x if value or not through_zero}
    if len(used) < degree + 1 - through_zero:
        with pytest.raises(FitError):
            fit_polynomial(x, y, degree, u=u if weighted else None, through_zero=through_zero)
        return
    fit = fit_polynomial(x, y, degree, u=u if weighted else None, through_zero=through_zero)
    weights = [1 / Fraction(v) ** 2 if weighted else 1 for v in u]
    assert list(fit.residuals) == [Fraction(b) - fit.evaluate(a) for a, b in zip(x, y, strict=True)]
    for power in range(through_zero, degree + 1):
        assert sum(w * r * Fraction(a) ** power for w, r, a in zip(weights, fit.residuals, x, strict=True)) == 0


@settings(deadline=None)
@given(POINTS)
def test_the_slopes_of_the_two_responses_multiply_to_r_squared(points):
    """Draper and Smith, Applied Regression Analysis, section 1.6 (from memory): b(y on x) times b(x on y) is r**2."""
    x, y, _ = zip(*points, strict=True)
    if len(set(x)) > 1 and len(set(y)) > 1:
        there, back = fit_polynomial(x, y, 1), fit_polynomial(y, x, 1)
        assert float(there.coefficients[1] * back.coefficients[1]) == there.r_squared == back.r_squared


def test_a_curve_with_no_degree_of_freedom_has_no_scatter_to_judge_by():
    fit = fit_polynomial([0, 1, 2], [5, 7, 11], 2)
    assert (fit.degrees_of_freedom, fit.residual_sd, fit.standard_errors, fit.f_statistic) == (0, None, None, None)
    assert fit.coefficients == (5, 1, 1)  # 5 + x + x**2


def test_equal_responses_leave_r_squared_undefined():
    assert fit_polynomial([0, 1, 2], [4, 4, 4], 1).r_squared is None


@settings(deadline=None)
@given(st.floats(min_value=0, allow_infinity=False))
def test_the_nearest_root_of_a_double_is_the_one_ieee_754_prescribes(value):
    """IEEE 754-2019, 5.4.1: squareRoot is correctly rounded."""
    assert nearest_sqrt(Fraction(value)) == math.sqrt(value)


def test_a_root_just_above_the_middle_of_two_doubles_goes_up():
    middle = 1 + Fraction(1, 2**53)
    assert nearest_sqrt(middle**2) == 1.0  # a tie goes to the even one
    assert nearest_sqrt(middle**2 + Fraction(1, 2**200)) == 1 + 2**-52


@settings(deadline=None)
@given(st.fractions(min_value=Fraction(1, 10**30), max_value=10**30, max_denominator=10**30))
def test_the_nearest_root_of_a_fraction_is_within_half_a_step(value):
    root = nearest_sqrt(value)
    below, above = (Fraction(root) + Fraction(math.nextafter(root, to)) for to in (0, math.inf))
    assert (below / 2) ** 2 <= value <= (above / 2) ** 2


def observations(*rows: tuple[int, int | None]) -> Observations:
    points = tuple(Observation(Decimal(x), Decimal(7 * x), counts_u=None if u is None else Decimal(u)) for x, u in rows)
    return Observations("points.csv", points, tuple(range(2, 2 + len(rows))), {}, {})


@pytest.mark.parametrize(
    ("rows", "degree", "message"),
    [
        ([(5, None), (5, None)], 1, "column load_g: 2 points with 1 different load_g do not determine degree 1"),
        ([(0, None), (5, None)], 2, "expected at least 3 different ones"),
        ([(0, None), (5, None)], 0, "degree 0; expected 1 to 10"),
        ([(0, None), (5, None)], 11, "degree 11; expected 1 to 10"),
        ([(0, 1), (5, None)], 1, "line 3, column counts_u: nothing found"),
        ([(0, 1), (5, 0)], 1, "line 3, column counts_u: 0 found"),
    ],
)
def test_points_that_cannot_be_fitted_are_refused_with_their_place(rows, degree, message):
    with pytest.raises(InputError) as caught:
        fit_observations(observations(*rows), degree)
    assert message in str(caught.value)
    assert str(caught.value).startswith("points.csv")


def test_stated_uncertainties_can_be_left_unused():
    assert not fit_observations(observations((0, 1), (5, None)), 1, use_uncertainties=False).weighted
