"""Errors in both variables: the standards' examples to the printed digits, independent libraries, both methods."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy
import pytest

from scalewright.analysis.errors_in_both import effective_variance_fit, errors_in_both
from scalewright.analysis.polynomial import fit_polynomial
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library

EXAMPLES = json.loads((Path(__file__).parents[2] / "reference_data" / "errors_in_both.json").read_text())["examples"]
GDR, ISO_6143 = EXAMPLES["ts28037_gdr"], EXAMPLES["iso6143_example1"]


def columns(example):
    if "response" in example:  # ISO 6143 fits the content on the response
        return [example[name] for name in ("response", "content", "u_response", "u_content")]
    return [example[name] for name in ("x", "y", "u_x", "u_y")]


def exact(values):
    return [Decimal(str(value)) for value in values]


def test_iso_ts_28037_clause_7_4_to_the_printed_digits():
    """ISO/TS 28037:2010, 7.4; obtained through public test suites, recomputed."""
    function, published = errors_in_both(*columns(GDR), 1), GDR["published"]
    (a, b), covariance = function.powers_of_x()
    u_a, u_b = numpy.sqrt(numpy.diag(covariance))
    figures = [round(float(value), 4) for value in (a, b, u_a, u_b, covariance[0, 1])]
    assert figures == [published[name] for name in ("a", "b", "u_a", "u_b", "cov_ab")]
    assert round(float(function.chi_squared), 3) == published["chi2"]
    assert round(function.chi_squared_limit(), 3) == published["chi2_crit_95"]
    for use in published["forward"]:
        assert round(float(function.value(use["x"])), 3) == use["y"]
        assert round(float(function.u_value(use["x"], use["u_x"])), 3) == use["u_y"]


def test_iso_6143_example_1_to_the_printed_digits():
    """ISO 6143:2001, B.2.1; obtained through a public implementation that carries the printed results, recomputed.

    The printed uncertainties and covariance differ from any full recomputation by up to 0.06 %.
    """
    function, published = errors_in_both(*columns(ISO_6143), 1), ISO_6143["published"]
    (b0, b1), covariance = function.powers_of_x()
    assert (round(float(b0), 5), round(float(b1), 3)) == (published["b0"], published["b1"])
    assert numpy.sqrt(numpy.diag(covariance)) == pytest.approx([published["u_b0"], published["u_b1"]], rel=1e-3)
    assert covariance[0, 1] == pytest.approx(published["cov"], rel=1e-3)
    assert round(float(function.chi_squared), 4) == published["chi2"]
    for use, recomputed in zip(published["use"], ISO_6143["recomputed"]["use"], strict=True):
        assert function.value(use["response"]) == pytest.approx(use["value"], rel=5e-5)
        assert function.u_value(use["response"], recomputed["u"]) == pytest.approx(use["u_value"], rel=2e-4)


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)
def test_the_independent_recomputation_agrees_to_8_digits(example):
    function, expected = errors_in_both(*columns(example), 1), example["recomputed"]
    coefficients, covariance = function.powers_of_x()
    assert coefficients == pytest.approx(expected["coefficients"], rel=1e-8)
    assert numpy.sqrt(numpy.diag(covariance)) == pytest.approx(expected["std_uncertainties"], rel=1e-8)
    assert function.chi_squared == pytest.approx(expected["chi2"], rel=1e-8)


def gas_example(b_least, number):
    """Return x, y, u_x, u_y of an ISO 6143 example as the library ships it (B.2.2 and B.2.3; numbers from memory)."""
    content, u_content, response, u_response = numpy.loadtxt(f"{b_least.data_dir}/b_least_{number}_data_cal.txt").T
    return response, content, u_response, u_content


@pytest.mark.parametrize(("number", "degree"), [(1, 1), (2, 1), (2, 2), (3, 1), (3, 3)])
def test_metas_b_least_finds_the_same(number, degree):
    b_least = library("metas_b_least.metas_b_least")
    x, y, u_x, u_y = gas_example(b_least, number)
    form = {1: b_least.b_linear_func, 2: b_least.b_second_order_poly, 3: b_least.b_third_order_poly}[degree]
    expected, covariance, _ = b_least.b_least(numpy.column_stack([y, u_y, x, u_x]), form)
    coefficients, found = errors_in_both(x, y, u_x, u_y, degree).powers_of_x()
    assert coefficients == pytest.approx(expected, rel=1e-6)
    assert found == pytest.approx(covariance, rel=1e-7)


@pytest.mark.parametrize(("number", "degree"), [(1, 1), (2, 2), (3, 3)])
def test_odrpack_finds_the_same(number, degree):
    odrpack, b_least = library("odrpack"), library("metas_b_least.metas_b_least")
    x, y, u_x, u_y = gas_example(b_least, number)
    function = errors_in_both(x, y, u_x, u_y, degree)
    t = (x - function.centre) / function.half
    fit = odrpack.odr_fit(
        lambda t, beta: numpy.polyval(beta[::-1], t),
        t,
        y,
        numpy.polyfit(t, y, degree)[::-1],
        weight_x=(function.half / u_x) ** 2,
        weight_y=1 / u_y**2,
        partol=1e-14,
        sstol=1e-14,
        maxit=500,
        diff_scheme="central",
    )
    assert function.coefficients == pytest.approx(fit.beta, rel=1e-7)
    assert function.covariance == pytest.approx(fit.cov_beta, rel=1e-6)
    assert function.chi_squared == pytest.approx(fit.sum_square, rel=1e-10)


def test_gtc_finds_the_same_line():
    gtc = library("GTC")
    x, y, u_x, u_y = columns(GDR)
    uncertain = [list(map(gtc.ureal, values, u)) for values, u in ((x, u_x), (y, u_y))]
    line = gtc.type_b.line_fit_wtls(*uncertain)
    (a, b), covariance = errors_in_both(x, y, u_x, u_y, 1).powers_of_x()
    assert (a, b) == pytest.approx((line.a_b[0].x, line.a_b[1].x), abs=2e-6)  # GTC searches the slope to about 1e-6
    # GTC propagates through the data to second order; the difference is explained in the reference data's note.
    assert numpy.sqrt(numpy.diag(covariance)) == pytest.approx([line.a_b[0].u, line.a_b[1].u], rel=0.02)


def test_effective_variance_with_exact_x_is_the_weighted_fit_itself():
    x, y, _, u_y = map(exact, columns(GDR))
    assert effective_variance_fit(x, y, [Decimal(0)] * 6, u_y, 1) == (fit_polynomial(x, y, 1, u=u_y), u_y)


def test_effective_variance_settles_where_its_own_slope_weights_it():
    x, y, u_x, u_y = map(exact, columns(GDR))
    fit, u = effective_variance_fit(x, y, u_x, u_y, 1)
    slope = float(fit.coefficients[1])
    own = numpy.hypot(numpy.array(u_y, float), slope * numpy.array(u_x, float))
    assert list(map(float, u)) == pytest.approx(own, rel=1e-9)
    again = numpy.polyfit(numpy.array(x, float), numpy.array(y, float), 1, w=1 / own)
    assert list(map(float, fit.coefficients)) == pytest.approx(again[::-1], rel=1e-8)


def test_the_two_methods_differ_on_a_crude_example_and_not_on_a_scale():
    """The figures that the module's text states."""
    example = list(map(exact, columns(GDR)))
    assert round(float(effective_variance_fit(*example, 1)[0].coefficients[1]), 3) == 2.144
    assert round(float(errors_in_both(*columns(GDR), 1).powers_of_x()[0][1]), 3) == 2.160
    # A scale of our own: loads to 3000 g known to 5e-6, counts to 5 of 4.5 million.
    random = numpy.random.default_rng(11)
    x = [Decimal(300 * k) for k in range(11)]
    u_x, u_y = [value * Decimal("5e-6") for value in x], [Decimal(5)] * 11
    y = [84_000 + 1500 * value + Decimal(int(noise)) for value, noise in zip(x, random.normal(0, 10, 11), strict=True)]
    exact_line, _ = effective_variance_fit(x, y, u_x, u_y, 1)
    (a, b), covariance = errors_in_both(*(numpy.array(c, float) for c in (x, y, u_x, u_y)), 1).powers_of_x()
    u_a, u_b = numpy.sqrt(numpy.diag(covariance))
    assert abs(float(exact_line.coefficients[0]) - a) < 1e-5 * u_a
    assert abs(float(exact_line.coefficients[1]) - b) < 1e-5 * u_b
    assert exact_line.standard_uncertainties == pytest.approx((u_a, u_b), rel=1e-6)


def test_a_curved_effective_variance_uses_the_slope_at_each_point():
    x = [Decimal(k) for k in range(8)]
    y = [value**2 + Decimal("0.01") * (-1) ** k for k, value in enumerate(x)]
    fit, _ = effective_variance_fit(x, y, [Decimal("0.1")] * 8, [Decimal("0.2")] * 8, 2)
    slopes = [float(fit.slope(value)) for value in x]
    expected = numpy.polyfit(range(8), numpy.array(y, float), 2, w=1 / numpy.sqrt(0.04 + 0.01 * numpy.square(slopes)))
    assert list(map(float, fit.coefficients)) == pytest.approx(expected[::-1], rel=1e-7)
    assert fit.slope(3) == fit.coefficients[1] + 6 * fit.coefficients[2]


def test_a_point_without_any_uncertainty_is_refused():
    x = [Fraction(k) for k in range(3)]
    with pytest.raises(InputError, match="uncertainty 0 in both"):
        effective_variance_fit(x, x, [Fraction(0)] * 3, [Fraction(0), Fraction(1), Fraction(1)], 1)
