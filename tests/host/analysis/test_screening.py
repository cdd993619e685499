"""Outliers are named and kept; gaps, short ranges and lone points are warned of."""

from decimal import Decimal

import numpy
import pytest

from scalewright.analysis.fit_points import fit_points
from scalewright.analysis.influence import influences
from scalewright.analysis.polynomial import fit_to
from scalewright.analysis.screening import outliers, warnings
from tests.host.analysis.crosscheck import library
from tests.host.analysis.runs import a_run


def noisy(seed, loads, off=None):
    counts = numpy.round(1000 + 15 * numpy.array(loads) + numpy.random.default_rng(seed).normal(0, 2, len(loads)), 2)
    if off is not None:
        counts[off] += 25
    return a_run(loads, counts)


def influences_of(run, degree=1):
    points = fit_points(run)
    return influences(fit_to(points, degree), points.x)


LOADS = [100 * k for k in range(11)]


def test_a_misread_row_is_named_by_its_line_and_stays():
    run = noisy(1, LOADS, off=6)
    (found,) = outliers(influences_of(run), run.lines)
    assert found.line == 8 + 6
    assert str(found).startswith("line 14 lies ")
    assert str(found).endswith("look at it, it has not been dropped")
    assert len(run.points) == len(LOADS)


@pytest.mark.parametrize("seed", range(3))
def test_statsmodels_adjusts_the_probabilities_in_the_same_way(seed):
    run = noisy(seed, LOADS, off=4)
    y = numpy.array([float(point.counts) for point in run.points])
    basis = numpy.array(LOADS)[:, None] ** numpy.arange(2)
    table = library("statsmodels.api").OLS(y, basis).fit().outlier_test("bonferroni")
    found = outliers(influences_of(run), range(11), level=1.1)
    expected = dict(enumerate(numpy.asarray(table)[:, 2]))
    assert {outlier.line: outlier.p for outlier in found} == pytest.approx(expected, abs=1e-10)
    assert [outlier.p for outlier in found] == sorted(outlier.p for outlier in found)


def test_good_calibrations_are_suspected_as_seldom_as_stated():
    """At the level 0.05 at most 5 % of good calibrations name a row (Bonferroni's inequality)."""
    suspected = sum(bool(outliers(influences_of(noisy(seed, LOADS)), range(11))) for seed in range(400))
    assert 8 <= suspected <= 20 + 3 * 4.4  # 20 expected at most, with a standard deviation of 4.4


def test_an_infinitely_unlikely_row_is_reported_too():
    run = a_run(range(6), [0, 1, 2, 9, 4, 5])
    (found,) = outliers(influences_of(run), run.lines)
    assert (found.line, found.p) == (11, 0.0)
    assert "less than 1 in 10000" in str(found)


@pytest.mark.parametrize(
    ("loads", "degree", "max_g", "expected"),
    [
        (LOADS, 3, 1000, []),
        ([0, 250, 500, 1000], 1, 1000, ["4 different loads are few for degree 1; 5 or more"]),
        ([0, 100, 200, 300, 400], 3, 400, ["5 different loads are few for degree 3; 6 or more"]),
        ([0, 0, 0, 500, 1000], 1, None, ["3 different loads are few"]),
        ([0, 10, 20, 30, 40, 1000], 1, 1000, ["bunched: none between 40 and 1000"]),
        ([0, 100, 200, 300, 400, 500], 1, 1000, ["the loads end at 500, Max is 1000: the last 50.0% is extrapolated"]),
        ([100, 200, 300, 400, 500], 1, 500, ["no load of 0: the curve below 100 is extrapolated"]),
        ([50], 1, 50, ["1 different loads are few", "no load of 0"]),
    ],
)
def test_what_is_wrong_with_the_loads_is_said_in_words(loads, degree, max_g, expected):
    found = warnings(a_run(loads, loads), degree, max_g=None if max_g is None else Decimal(max_g))
    assert len(found) == len(expected)
    for sentence, part in zip(found, expected, strict=True):
        assert part in sentence


def test_a_load_that_decides_alone_is_named():
    run = noisy(0, [0, 1, 2, 3, 4, 5, 1000])
    assert any(sentence.startswith("line 14 has 100% of the say") for sentence in warnings(run, 1, influences_of(run)))
