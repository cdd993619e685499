"""Which quantity is the response, which zero the curve goes through, and what must be stated."""

from fractions import Fraction

import pytest

from scalewright.analysis.fit_points import fit_points
from scalewright.analysis.polynomial import fit_observations, fit_to
from scalewright.errors import InputError
from tests.host.analysis.runs import a_run

RUN = a_run([0, 100, 200, 0], [1000, 2510, 4000, 1003], load_u_g=[0, "0.1", "0.2", 0], counts_u=[2, 2, 2, 2])


@pytest.mark.parametrize("response", ["counts", "load"])
def test_the_response_is_y_and_the_other_x(response):
    points = fit_points(RUN, response)
    loads, counts = (0, 100, 200, 0), (1000, 2510, 4000, 1003)
    assert (points.y, points.x) == ((counts, loads) if response == "counts" else (loads, counts))
    u_y, u_x = points.u_y(may_be_zero=True), points.u_x()
    load_u = (0, Fraction(1, 10), Fraction(1, 5), 0)
    assert (u_y, u_x) == (((2,) * 4, load_u) if response == "counts" else (load_u, (2,) * 4))


@pytest.mark.parametrize("response", ["counts", "load"])
@pytest.mark.parametrize("degree", [1, 2])
def test_a_curve_through_the_observed_zero_meets_the_mean_of_the_zeros_exactly(response, degree):
    fit = fit_observations(RUN, degree, response, zero="observed", use_uncertainties=False)
    assert fit_points(RUN, zero="observed").zero_counts == Fraction(2003, 2)
    assert fit.evaluate(0) == 0
    assert len(fit.coefficients) == degree
    if response == "counts":
        assert (fit.residuals[0], fit.residuals[3]) == (Fraction(-3, 2), Fraction(3, 2))


def test_a_curve_through_the_origin_takes_the_counts_as_they_are():
    points = fit_points(RUN, zero="origin")
    assert (points.zero_counts, points.through_zero) == (0, True)
    slope = Fraction(2510 * 100 + 4000 * 200, 100**2 + 200**2)
    assert fit_to(points, 1, use_uncertainties=False).coefficients == (slope,)


def test_a_zero_that_was_not_observed_is_asked_for():
    with pytest.raises(InputError, match=r"run\.csv: no point of 0 g"):
        fit_points(a_run([100, 200], [1, 2]), zero="observed")


def test_points_can_not_weigh_by_an_uncertainty_of_zero_or_by_none():
    with pytest.raises(InputError, match="line 8, column load_u_g: 0 found"):
        fit_points(RUN, "load").u_y()
    gap = a_run([0, 1], [0, 1], counts_u=[1, None])
    with pytest.raises(InputError, match="line 9, column counts_u: nothing found"):
        fit_points(gap).u_y()
    assert fit_points(a_run([0, 1], [0, 1])).u_y() is None
