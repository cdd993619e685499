"""Leverage and leave-one-out without fitting again, against fits that do leave the point out."""

from decimal import Decimal
from fractions import Fraction

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.analysis.influence import influences, left_out_rms
from scalewright.analysis.polynomial import fit_polynomial
from tests.host.analysis.crosscheck import library

DECIMALS = st.decimals(-1000, 1000, places=2)
POINTS = st.lists(
    st.tuples(DECIMALS, DECIMALS, st.decimals("0.01", 10, places=2)), min_size=5, max_size=9, unique_by=lambda p: p[0]
)


@settings(deadline=None)
@given(points=POINTS, degree=st.integers(1, 3), weighted=st.booleans(), through_zero=st.booleans())
def test_the_left_out_residual_is_exactly_that_of_a_fit_without_the_point(points, degree, weighted, through_zero):
    x, y, u = zip(*points, strict=True)
    u = u if weighted else None
    if through_zero and 0 in x:
        return  # then a point less counts, and the others may not suffice
    fit = fit_polynomial(x, y, degree, u=u, through_zero=through_zero)
    found = influences(fit, x, u)
    assert sum(influence.leverage for influence in found) == len(fit.coefficients)
    for k, influence in enumerate(found):
        rest = [[v for j, v in enumerate(column) if j != k] for column in (x, y, *([u] if u else []))]
        other = fit_polynomial(rest[0], rest[1], degree, u=rest[2] if u else None, through_zero=through_zero)
        assert influence.left_out_residual == Fraction(y[k]) - other.evaluate(x[k])
        assert 0 <= influence.leverage <= 1


@pytest.mark.parametrize("weighted", [False, True])
@pytest.mark.parametrize("degree", [1, 2, 3])
def test_statsmodels_finds_the_same_leverages_and_studentised_residuals(degree, weighted):
    random = numpy.random.default_rng(degree)
    x, u = numpy.arange(12.0), random.integers(1, 5, 12) if weighted else numpy.ones(12, int)
    y = numpy.round(5 * x + random.normal(0, 1, 12), 3)
    exact = [Decimal(str(value)) for value in y]
    weights = [Decimal(int(value)) for value in u] if weighted else None
    found = influences(fit_polynomial(list(range(12)), exact, degree, u=weights), list(range(12)), weights)
    basis = (x / 6 - 1)[:, None] ** numpy.arange(degree + 1)
    # studentised residuals of the whitened problem, which is how weighted ones are defined
    expected = library("statsmodels.api").OLS(y / u, basis / u[:, None]).fit().get_influence()
    assert [float(i.leverage) for i in found] == pytest.approx(list(expected.hat_matrix_diag), rel=1e-9)
    assert [i.studentised for i in found] == pytest.approx(list(expected.resid_studentized_external), rel=1e-7)


def test_a_point_that_alone_decides_can_not_be_left_out():
    fit = fit_polynomial([0, 0, 0, 10], [1, 2, 3, 30], 1)
    found = influences(fit, [0, 0, 0, 10])
    assert (found[3].leverage, found[3].left_out_residual, found[3].studentised) == (1, None, None)
    assert left_out_rms(found) is None
    assert left_out_rms(found[:3]) == pytest.approx(1.5 * (2 / 3) ** 0.5)  # the mean of two others: off by 3/2, 0, 3/2


def test_too_few_points_leave_no_scatter_of_the_others():
    assert [i.studentised for i in influences(fit_polynomial([0, 1, 2], [0, 2, 1], 1), [0, 1, 2])] == [None] * 3


def test_a_point_off_a_line_that_all_others_meet_is_infinitely_far_off():
    x, y = list(range(6)), [0, 1, 2, 9, 4, 5]
    found = influences(fit_polynomial(x, y, 1), x)
    assert found[3].studentised == numpy.inf
    assert all(abs(i.studentised) < 10 for k, i in enumerate(found) if k != 3)
