"""Draws of a calibration against a fit of each, against closed forms, and against the truth of simulated ones."""

from math import sqrt

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.analysis.curve_draws import draw_curve, solve_symmetric
from scalewright.analysis.curve_uncertainty import UncertainPoints, curve_uncertainty
from scalewright.analysis.monte_carlo import BLOCK, generators
from tests.host.analysis.test_curve_uncertainty import AT, COUNTS, LOADS_G, UNCERTAIN, a_calibration, fitted

DRAWS = 200_000


@pytest.mark.parametrize("u_counts", [20.0, numpy.linspace(20, 30, 10)], ids=["alike", "different"])
@pytest.mark.parametrize("degree", [1, 2, 3])
def test_every_draw_is_the_fit_of_its_own_points(degree, u_counts):
    """The same random numbers, each draw fitted by numpy on its own."""
    points = a_calibration(degree, **UNCERTAIN | {"u_counts": u_counts})
    normals = next(generators(4)).standard_normal((21, BLOCK))
    counts = points.counts[:, None] + points.u_counts[:, None] * normals[:10]
    loads = LOADS_G[:, None] * (1 + 1e-5 * normals[10:20] + 2e-5 * normals[20])
    some = slice(0, None, 200)
    expected = fitted(numpy.concatenate([counts[:, some], loads[:, some]]), degree)
    drawn = draw_curve(points, AT, BLOCK, seed=4)
    for ours, theirs in zip(drawn, expected, strict=True):
        assert ours.values[some] == pytest.approx(theirs, abs=1e-10)


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_exact_counts_give_draws_that_are_exactly_linear(degree):
    points = a_calibration(degree, u_load_g=LOADS_G * 1e-5, common_u_load_g=LOADS_G * 2e-5)
    normals = next(generators(4)).standard_normal((11, BLOCK))
    loads = LOADS_G[:, None] * (1 + 1e-5 * normals[:10] + 2e-5 * normals[10])
    some = slice(0, None, 200)
    counts = numpy.repeat(points.counts[:, None], BLOCK, axis=1)
    expected = fitted(numpy.concatenate([counts[:, some], loads[:, some]]), degree)
    assert points.are_linear
    for ours, theirs in zip(draw_curve(points, AT, BLOCK, seed=4), expected, strict=True):
        assert ours.values[some] == pytest.approx(theirs, abs=1e-10)


@pytest.mark.parametrize("uncertainties", [UNCERTAIN, {"u_load_g": 0.01, "common_u_load_g": 0.02}])
@pytest.mark.parametrize("degree", [1, 3])
def test_draws_scatter_as_the_law_of_propagation_says(degree, uncertainties):
    """Where the counts are hardly bent within their uncertainty, the first order is right: u to 5 of its own sd."""
    points = a_calibration(degree, **uncertainties)
    expected = curve_uncertainty(points, AT)
    for drawn, load_g, u_g in zip(draw_curve(points, AT, DRAWS), expected.load_g, expected.u_g, strict=True):
        assert drawn.estimate == pytest.approx(load_g, abs=5 * u_g / sqrt(DRAWS))
        assert drawn.u == pytest.approx(u_g, rel=5 / sqrt(2 * DRAWS))
        assert drawn.symmetric_interval() == pytest.approx((load_g - 2 * u_g, load_g + 2 * u_g), abs=0.03 * u_g)


def test_counts_that_scatter_widely_flatten_the_line_which_no_first_order_shows():
    """Regression on an uncertain x is too flat by 1 / (1 + u**2 / var(x)): attenuation, closed form for many points."""
    x = numpy.linspace(-1, 1, 401)
    points = UncertainPoints.of(x, x, u_counts=0.3)
    (drawn,) = draw_curve(points, [1.0], BLOCK)
    assert curve_uncertainty(points, numpy.array([1.0])).load_g[0] == pytest.approx(1.0)
    assert drawn.estimate == pytest.approx(1 / (1 + 0.09 / x.var()), abs=3e-3)


def test_the_number_of_draws_is_what_was_asked_for_and_the_seed_decides():
    points = a_calibration(1, **UNCERTAIN)
    few, more, other = (draw_curve(points, AT, n, seed=s)[1].values for n, s in ((10, 1), (BLOCK + 1, 1), (10, 2)))
    assert (len(few), len(more)) == (10, BLOCK + 1)
    assert (more[:10] == few).all() and not (other == few).any()


def test_intervals_hold_the_truth_as_often_as_they_say():
    """600 simulated calibrations: 95.45 % of the drawn intervals hold the truth, give or take 3.3 sd of that share."""
    random = numpy.random.default_rng(6)
    true_counts, experiments, held = numpy.linspace(0, 1e6, 5), 600, 0
    true_g = true_counts / 2000
    for seed in range(experiments):
        points = UncertainPoints.of(
            true_counts + random.normal(0, 20, 5),
            true_g + random.normal(0, 0.005, 5) + true_g * 1e-5 * random.normal(),
            u_counts=20.0,
            u_load_g=0.005,
            common_u_load_g=true_g * 1e-5,
        )
        low, high = draw_curve(points, [7.3e5], BLOCK, seed=seed)[0].symmetric_interval()
        held += low <= 365.0 <= high
    assert held / experiments == pytest.approx(0.9545, abs=3.3 * sqrt(0.9545 * 0.0455 / experiments))


def test_points_of_equal_weight_are_fitted_too():
    weighted, plain = (
        UncertainPoints.of(COUNTS, LOADS_G, 2, **UNCERTAIN, weights=weights)
        for weights in (5.0, [5.0] * 9 + [5.0 + 1e-12])
    )
    one, other = (draw_curve(points, AT, 1000)[0].values for points in (weighted, plain))
    assert one == pytest.approx(other, abs=1e-10)


@given(st.integers(1, 4), st.integers(0, 1000))
def test_many_small_systems_are_solved_at_once(size, seed):
    """Against numpy's solver for each."""
    factors = numpy.random.default_rng(seed).normal(size=(7, size, size))
    matrices = factors @ factors.swapaxes(1, 2) + numpy.eye(size)
    right = numpy.random.default_rng(seed + 1).normal(size=(7, size))
    rows = [[matrices[:, i, j].copy() for j in range(i, size)] for i in range(size)]
    found = numpy.array(solve_symmetric(rows, list(right.T.copy()))).T
    assert found == pytest.approx(numpy.linalg.solve(matrices, right[..., None])[..., 0], rel=1e-9, abs=1e-12)
