"""Do 95 % intervals hold the truth 95 % of the time, and is the estimator as good as any can be?

Simulated calibrations of a scale of our own invention. 40 000 each, so that chance moves a share by 0.11 % and the
limits of 94.5 % and 95.5 % are more than four of that away. The Cramér-Rao bound is computed here from the model, in
its own way: for errors in both variables from the information on the curve and on all true loads together.
"""

from fractions import Fraction

import numpy
import pytest

from scalewright.analysis.calibration_function import CalibrationFunction, calibration_function
from scalewright.analysis.errors_in_both import errors_in_both
from scalewright.analysis.generalised_regression import generalised_regression
from scalewright.analysis.polynomial import fit_polynomial

RUNS = 40_000
LOADS = numpy.linspace(0, 3000, 11)  # g
TRUTH = {1: [84_000.0, 1500.0], 3: [84_000.0, 1500.0, -2e-3, 3e-7]}  # counts, counts/g, ...
U_COUNTS = 40.0
U_LOADS = 0.002 + 1e-5 * LOADS  # g
CHECKS = numpy.array([150.0, 1500.0, 2900.0])  # loads at which the intervals are judged


def true_counts(degree, loads):
    return numpy.polynomial.polynomial.polyval(loads, TRUTH[degree])


def share_held(difference, half_width):
    """Return the share of runs whose interval holds the truth, at each place."""
    return (numpy.abs(difference) <= half_width).mean(axis=0)


def assert_covers(function: CalibrationFunction, degree: int) -> None:
    """Forward (counts at a load), inverse (load at a new indication) and every coefficient."""
    k = function.coverage_factor(0.95)
    shares = [*share_held(function.value(CHECKS) - true_counts(degree, CHECKS), k * function.u_value(CHECKS))]
    coefficients, covariance = function.powers_of_x()
    u = numpy.sqrt(numpy.diagonal(covariance, axis1=1, axis2=2))
    shares += [*share_held(coefficients - TRUTH[degree], k * u)]
    if function.has_stated_uncertainties:
        new = true_counts(degree, CHECKS) + numpy.random.default_rng(99).normal(0, U_COUNTS, (RUNS, 3))
        loads, u_loads = function.inverse(new, U_COUNTS)
        shares += [*share_held(loads - CHECKS, k * u_loads)]
    assert min(shares) >= 0.945 and max(shares) <= 0.955, shares


def assert_efficient(function: CalibrationFunction, bound) -> None:
    """The spread of every coefficient over the runs is within 5 % of the bound on its standard deviation."""
    spread = function.powers_of_x()[0].std(axis=0)
    assert spread / numpy.sqrt(numpy.diag(bound)) == pytest.approx(numpy.ones(len(bound)), abs=0.05)


def information_bound(jacobian, u):
    """Return the inverse of Fisher's information on the parameters of a model with independent normal errors."""
    weighted = jacobian / u[:, None]
    scale = numpy.linalg.norm(weighted, axis=0)
    return numpy.linalg.inv((weighted / scale).T @ (weighted / scale)) / numpy.outer(scale, scale)


@pytest.mark.parametrize("degree", [1, 3])
def test_weighted_fits_with_stated_uncertainties(degree):
    random = numpy.random.default_rng(degree)
    u = U_COUNTS * numpy.linspace(0.5, 2, 11)
    counts = true_counts(degree, LOADS) + random.normal(0, u, (RUNS, 11))
    function = generalised_regression(LOADS, counts, degree, cov_y=numpy.diag(u**2))
    assert_covers(function, degree)
    assert_efficient(function, information_bound(LOADS[:, None] ** numpy.arange(degree + 1), u))


def exact_function(counts, degree) -> CalibrationFunction:
    loads = [Fraction(int(load)) for load in LOADS]
    return calibration_function(fit_polynomial(loads, [int(value) for value in counts], degree), loads)


def many_exact_functions(counts, degree) -> CalibrationFunction:
    """Return what `exact_function` makes of every run. The fit is linear in the counts: unit counts show all of it."""
    units = [fit_polynomial([int(x) for x in LOADS], [int(j == k) for j in range(11)], degree) for k in range(11)]
    hat = numpy.eye(11) - numpy.array([fit.residuals for fit in units], float).T
    residuals = counts - counts @ hat.T
    one = exact_function(counts[0], degree)
    basis = ((LOADS - one.centre) / one.half)[:, None] ** numpy.arange(degree + 1)
    coefficients = counts @ (numpy.linalg.pinv(basis) @ hat).T
    variance = (residuals**2).sum(axis=1) / one.degrees_of_freedom
    covariance = one.covariance / variance[0] * variance[:, None, None]
    return CalibrationFunction(
        one.centre, one.half, coefficients, covariance, one.chi_squared, one.degrees_of_freedom
    )


@pytest.mark.parametrize("degree", [1, 3])
def test_exact_fits_with_the_scatter_taken_from_the_residuals(degree):
    random = numpy.random.default_rng(10 + degree)
    counts = numpy.rint(true_counts(degree, LOADS) + random.normal(0, U_COUNTS, (RUNS, 11)))
    function = many_exact_functions(counts, degree)
    for run in range(0, RUNS, 4000):
        alone = exact_function(counts[run], degree)
        assert function.coefficients[run] == pytest.approx(alone.coefficients, rel=1e-9, abs=1e-6)
        assert function.covariance[run] == pytest.approx(alone.covariance, rel=1e-6, abs=1e-6)
    assert_covers(function, degree)
    bound = information_bound(LOADS[:, None] ** numpy.arange(degree + 1), numpy.full(11, U_COUNTS))
    assert_efficient(function, bound)


@pytest.mark.parametrize("degree", [1, 3])
def test_errors_in_both_variables(degree):
    """Loads off by 0.01 g to 0.03 g as much as their certificates allow; counts by 40, worth 0.027 g."""
    random = numpy.random.default_rng(20 + degree)
    loads = LOADS + random.normal(0, U_LOADS, (RUNS, 11))
    counts = true_counts(degree, LOADS) + random.normal(0, U_COUNTS, (RUNS, 11))
    function = errors_in_both(loads, counts, U_LOADS, numpy.full(11, U_COUNTS), degree)
    assert_covers(function, degree)
    # Information on the curve and on all eleven true loads: an observation of each load, and one of each count.
    slopes = numpy.polynomial.polynomial.polyval(LOADS, numpy.polynomial.polynomial.polyder(TRUTH[degree]))
    basis = LOADS[:, None] ** numpy.arange(degree + 1)
    jacobian = numpy.block([[numpy.zeros_like(basis), numpy.eye(11)], [basis, numpy.diag(slopes)]])
    bound = information_bound(jacobian, numpy.concatenate([U_LOADS, numpy.full(11, U_COUNTS)]))
    assert_efficient(function, bound[: degree + 1, : degree + 1])
