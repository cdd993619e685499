"""Regression on points uncertain in both variables and correlated in any way, against independent solvers."""

import numpy
import pytest
from scipy.optimize import least_squares

from scalewright.analysis.generalised_regression import generalised_regression
from scalewright.errors import InputError, MeasurementError
from tests.host.analysis.crosscheck import library


def a_covariance(random, size, scale):
    factors = random.normal(0, scale, (size, size))
    return factors @ factors.T + scale**2 * numpy.eye(size)


def a_calibration(seed, degree, points=9):
    """Return x, y and the covariance matrix of (x, y): everything correlated with everything."""
    random = numpy.random.default_rng(seed)
    true = numpy.linspace(0, 10, points)
    curve = numpy.array([1.0, 2.0, 0.03, -0.002])[: degree + 1]
    covariance = a_covariance(random, 2 * points, 0.02)
    x, y = numpy.split(random.multivariate_normal([*true, *numpy.polyval(curve[::-1], true)], covariance), 2)
    return x, y, covariance


def by_brute_force(x, y, covariance, degree):
    """Return coefficients, their covariance and chi-squared by scipy's solver, over curve and true x at once."""
    whitener = numpy.linalg.inv(numpy.linalg.cholesky(covariance))

    def residuals(parameters):
        curve, true = parameters[: degree + 1], parameters[degree + 1 :]
        return whitener @ numpy.concatenate([x - true, y - numpy.polyval(curve[::-1], true)])

    start = numpy.concatenate([numpy.polyfit(x, y, degree)[::-1], x])
    found = least_squares(residuals, start, x_scale="jac", ftol=1e-15, xtol=1e-15, gtol=1e-15)
    return found.x[: degree + 1], numpy.linalg.inv(found.jac.T @ found.jac)[: degree + 1, : degree + 1], 2 * found.cost


@pytest.mark.parametrize("degree", [1, 2, 3])
@pytest.mark.parametrize("seed", range(3))
def test_a_general_solver_over_all_unknowns_finds_the_same(seed, degree):
    x, y, covariance = a_calibration(seed, degree)
    m = len(x)
    function = generalised_regression(
        x, y, degree, cov_x=covariance[:m, :m], cov_y=covariance[m:, m:], cov_xy=covariance[:m, m:]
    )
    expected, expected_covariance, chi_squared = by_brute_force(x, y, covariance, degree)
    coefficients, found_covariance = function.powers_of_x()
    u = numpy.sqrt(numpy.diag(expected_covariance))
    assert (coefficients - expected) / u == pytest.approx(numpy.zeros(degree + 1), abs=1e-5)
    assert found_covariance / numpy.outer(u, u) == pytest.approx(expected_covariance / numpy.outer(u, u), abs=1e-4)
    assert function.chi_squared == pytest.approx(chi_squared, rel=1e-8)
    assert function.degrees_of_freedom == m - degree - 1


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_statsmodels_finds_the_same_curve_through_correlated_y(degree):
    """Generalised least squares, x exact: ISO/TS 28037:2010, clause 9 (number from memory)."""
    x, y, covariance = a_calibration(7, degree)
    cov_y = covariance[len(x) :, len(x) :]
    function = generalised_regression(x, y, degree, cov_y=cov_y)
    basis = ((x - function.centre) / function.half)[:, None] ** numpy.arange(degree + 1)
    fit = library("statsmodels.api").GLS(y, basis, sigma=cov_y).fit()
    assert function.coefficients == pytest.approx(fit.params, rel=1e-9)
    assert function.covariance == pytest.approx(fit.normalized_cov_params, rel=1e-8)
    assert function.chi_squared == pytest.approx(fit.ssr, rel=1e-9)


def test_a_curve_forced_through_a_point_meets_it_and_fits_as_a_free_one_with_that_point_all_but_exact():
    x, y, covariance = a_calibration(3, 2)
    cov_y = covariance[len(x) :, len(x) :]
    forced = generalised_regression(x, y, 2, cov_y=cov_y, through=(-1.0, 5.0))
    assert forced.value(-1.0) == pytest.approx(5.0, abs=1e-12)
    assert forced.u_value(-1.0) == pytest.approx(0, abs=1e-7)
    tied = numpy.pad(cov_y, (0, 1))
    tied[-1, -1] = 1e-14
    free = generalised_regression([*x, -1.0], [*y, 5.0], 2, cov_y=tied)
    assert forced.powers_of_x()[0] == pytest.approx(free.powers_of_x()[0], abs=1e-6)
    assert forced.u_value(x) == pytest.approx(free.u_value(x), rel=1e-5)
    assert forced.degrees_of_freedom == free.degrees_of_freedom == len(x) - 2


def test_many_calibrations_at_once_are_fitted_as_each_is_alone():
    random = numpy.random.default_rng(5)
    x = numpy.linspace(0, 10, 8) + random.normal(0, 0.01, (20, 8))
    x[:, 0], x[:, -1] = 0, 10
    y = 3 * x + 0.02 * x**2 + random.normal(0, 0.02, (20, 8))
    many = generalised_regression(x, y, 2, cov_x=1e-4, cov_y=4e-4)
    for k in range(20):
        one = generalised_regression(x[k], y[k], 2, cov_x=1e-4, cov_y=4e-4)
        assert many.coefficients[k] == pytest.approx(one.coefficients, rel=1e-10)
        assert many.covariance[k] == pytest.approx(one.covariance, rel=1e-6)
        assert many.chi_squared[k] == pytest.approx(one.chi_squared, rel=1e-8)


def test_an_exact_load_needs_no_invented_uncertainty():
    u_x = numpy.array([0.0, 0.1, 0.1, 0.1, 0.1])
    x, y = [0.0, 1.0, 2.0, 3.0, 4.0], [0.1, 2.0, 4.1, 6.0, 8.1]
    exact = generalised_regression(x, y, 1, cov_x=numpy.diag(u_x**2), cov_y=0.01)
    nearly = generalised_regression(x, y, 1, cov_x=numpy.diag(u_x**2 + 1e-16), cov_y=0.01)
    assert exact.coefficients == pytest.approx(nearly.coefficients, rel=1e-10)


@pytest.mark.parametrize(
    ("x", "degree", "cov_y", "message"),
    [
        ([1.0, 1.0, 1.0], 1, 1.0, "same x"),
        ([0.0, 1.0, 1.0], 2, 1.0, "do not determine 3 coefficients"),
        ([0.0, 1.0], 2, 1.0, "do not determine 3 coefficients"),
        ([0.0, 1.0, 2.0], 1, 0.0, "no covariance matrix"),
        ([0.0, 1.0, 2.0], 1, numpy.array([[1, 2, 0], [2, 1, 0], [0, 0, 1.0]]), "no covariance matrix"),
    ],
)
def test_points_that_determine_nothing_and_covariances_that_are_none_are_refused(x, degree, cov_y, message):
    with pytest.raises(InputError, match=message):
        generalised_regression(x, [1.0, 2.0, 4.0][: len(x)], degree, cov_y=cov_y)


def test_uncertainties_as_large_as_the_range_end_in_a_sentence():
    random = numpy.random.default_rng(12)
    x, y = numpy.arange(6) + random.normal(0, 3, 6), numpy.arange(6) + random.normal(0, 1, 6)
    with pytest.raises(MeasurementError, match="does not settle"):
        generalised_regression(x, y, 3, cov_x=9.0, cov_y=0.01)


def test_counts_in_the_millions_settle_as_well():
    """Rounding leaves more than 1e-10 standard uncertainties of a step where y is 1e9 of them."""
    x = numpy.arange(11.0)
    function = generalised_regression(x, 8_000_000 - 3e5 * x, 3, cov_x=1e-14, cov_y=1e-6)
    assert function.value(5.5) == pytest.approx(8_000_000 - 3e5 * 5.5, rel=1e-15)
