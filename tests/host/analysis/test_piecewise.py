"""Curves of straight pieces: exact, monotonic, refused where they turn back."""

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.analysis.fit_points import fit_points
from scalewright.analysis.piecewise import fit_piecewise
from scalewright.errors import InputError
from tests.host.analysis.runs import a_run

RISING = st.lists(st.integers(1, 1000), min_size=2, max_size=8)


@settings(deadline=None)
@given(steps=RISING, rises=st.booleans(), data=st.data())
def test_it_passes_through_the_mean_at_every_load_and_its_inverse_is_exact(steps, rises, data):
    loads = [10 * k for k in range(len(steps))]
    counts = [(1 if rises else -1) * sum(steps[: k + 1]) for k in range(len(steps))]
    offsets = data.draw(st.lists(st.integers(-5, 5), min_size=len(loads), max_size=len(loads)))
    twice = [c + sign * o for sign in (1, -1) for c, o in zip(counts, offsets, strict=True)]
    curve = fit_piecewise(fit_points(a_run(loads * 2, twice)))
    assert curve.values == tuple(counts)
    assert curve.degrees_of_freedom == len(loads)
    load = data.draw(st.fractions(-10, loads[-1] + 10, max_denominator=1000))
    assert curve.inverse(curve.evaluate(load)) == load


@pytest.mark.parametrize("weighted", [False, True])
def test_numpy_finds_the_same_curve_with_fewer_knots_than_loads(weighted):
    random = numpy.random.default_rng(3)
    loads = numpy.arange(0, 1001, 50)
    counts = numpy.round(1000 + 15 * loads + 0.002 * loads**2 + random.normal(0, 3, 21), 2)
    u = random.integers(1, 5, 21) if weighted else numpy.ones(21, int)
    knots = [0, 300, 1000]
    columns = {"counts_u": u} if weighted else {}
    curve = fit_piecewise(fit_points(a_run(loads, counts, **columns)), knots)
    hats = numpy.array([numpy.interp(loads, knots, row) for row in numpy.eye(3)]).T
    values, _, _, _ = numpy.linalg.lstsq(hats / u[:, None], counts / u, rcond=None)
    assert list(map(float, curve.values)) == pytest.approx(values, rel=1e-12)
    assert list(map(float, curve.residuals)) == pytest.approx(counts - hats @ values, abs=1e-8)
    assert curve.residual_sd == pytest.approx(numpy.sqrt(((counts - hats @ values) ** 2).sum() / 18), rel=1e-9)


def test_a_forced_zero_is_met_exactly():
    curve = fit_piecewise(fit_points(a_run([0, 0, 100, 200], [1000, 1010, 2500, 4100]), zero="observed"))
    assert curve.evaluate(0) == 0
    assert curve.values == (0, 2500 - 1005, 4100 - 1005)
    assert curve.degrees_of_freedom == 2


def test_points_that_turn_back_are_refused_by_the_rows_that_do():
    run = a_run([0, 100, 200, 300, 200], [1000, 2500, 2400, 4000, 2405])
    with pytest.raises(InputError) as caught:
        fit_piecewise(fit_points(run))
    assert str(caught.value).startswith(
        "run.csv: the counts go from 2500 at 100 (line 9) to 2402.5 at 200 (lines 10, 12); expected them to rise"
    )
    assert len(fit_piecewise(fit_points(run), [0, 100, 300]).knots) == 3  # fewer knots bridge the dip


def test_equal_counts_at_two_loads_turn_back_too():
    with pytest.raises(InputError, match="expected them to fall"):
        fit_piecewise(fit_points(a_run([0, 1, 2], [9, 5, 5])))


@pytest.mark.parametrize(
    ("knots", "message"), [([100], "1 knots"), ([0, 40, 60, 100, 200], "do not determine a value at each of 5 knots")]
)
def test_knots_that_the_points_do_not_determine_are_refused(knots, message):
    with pytest.raises(InputError, match=message):
        fit_piecewise(fit_points(a_run([0, 100, 200], [0, 1, 2])), knots)


def test_every_load_a_knot_leaves_nothing_to_judge_by():
    curve = fit_piecewise(fit_points(a_run([0, 1], [0.5, 3])))
    assert (curve.degrees_of_freedom, curve.residual_sd) == (0, None)
