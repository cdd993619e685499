"""The uncertainty of a calibration curve against GUM H.3, general libraries and simulated calibrations."""

import json
from dataclasses import replace
from math import sqrt

import numpy
import pytest

from scalewright.analysis.budget import Component
from scalewright.analysis.curve_uncertainty import UncertainPoints, curve_uncertainty, sensitivities
from scalewright.analysis.propagation import numerical_jacobian
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library
from tests.host.reference_tables import REFERENCE_DATA

LOADS_G = numpy.linspace(100.0, 1000.0, 10)
COUNTS = 8e5 + 2000 * LOADS_G + 3e-4 * LOADS_G**2 + numpy.random.default_rng(3).normal(0, 20, 10)
WEIGHTS = numpy.linspace(1, 2, 10)
AT = numpy.array([9.1e5, 1.8e6, 2.85e6])


def a_calibration(degree, **uncertainties):
    return UncertainPoints.of(COUNTS, LOADS_G, degree, weights=WEIGHTS, **uncertainties)


UNCERTAIN = {"u_counts": 20.0, "u_load_g": LOADS_G * 1e-5, "common_u_load_g": LOADS_G * 2e-5}


def fitted(x, degree):
    """The curve at AT by numpy's own fit, for each column of x: ten counts, then ten loads."""
    columns = x.reshape(20, -1)
    scaled = ((AT - 1.8e6) / 1e6, (columns[:10] - 1.8e6) / 1e6)
    fits = [
        numpy.polyval(numpy.polyfit(t, y, degree, w=numpy.sqrt(WEIGHTS)), scaled[0])
        for t, y in zip(scaled[1].T, columns[10:].T, strict=True)
    ]
    return numpy.array(fits).T.reshape(len(AT), *x.shape[1:])


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_the_curve_and_its_sensitivities_are_those_of_numpys_fit(degree):
    points = a_calibration(degree)
    x = numpy.concatenate([COUNTS, LOADS_G])
    expected = numerical_jacobian(lambda x: fitted(x, degree), x, numpy.repeat([200.0, 0.1], 10))
    by_load, by_count = sensitivities(points, AT)
    assert curve_uncertainty(points, AT).load_g == pytest.approx(fitted(x, degree), rel=1e-12)
    assert by_load == pytest.approx(expected[:, 10:], rel=1e-8, abs=1e-10)
    assert by_count == pytest.approx(expected[:, :10], rel=1e-5, abs=1e-10)


def test_the_thermometer_of_the_guide():
    """JCGM 100:2008, H.3: b(30 °C) = -0.1494 °C with u = 0.0041 °C; the readings' s is what every point has."""
    h3 = json.loads((REFERENCE_DATA / "gum_h3_thermometer.json").read_text(encoding="utf-8"))
    expected = h3.get("recomputed", h3)
    points = UncertainPoints.of(h3["t_degC"], h3["b_degC"], u_load_g=expected["s"])
    found = curve_uncertainty(points, numpy.array([30.0, expected["t_mean"]]))
    assert found.load_g == pytest.approx([expected["b_30"], expected["y1_centred"]], rel=1e-9)
    assert found.u_g == pytest.approx([expected["u_b_30"], expected["s_y1_centred"]], rel=1e-9)


def correlated_loads(rho):
    u = LOADS_G * 3e-5
    return {"u_counts": 20.0, "u_load_g": u * sqrt(1 - rho), "common_u_load_g": u * sqrt(rho)}, u


def normal_equations(x, y, degree, at):
    """The unweighted polynomial at one place, in arithmetic that any kind of number understands."""
    size = degree + 1
    rows = [[sum(v ** (i + j) for v in x) for j in range(size)] for i in range(size)]
    right = [sum(b * v**i for v, b in zip(x, y, strict=True)) for i in range(size)]
    for k in range(size):
        for i in range(k + 1, size):
            factor = rows[i][k] / rows[k][k]
            rows[i] = [a - factor * b for a, b in zip(rows[i], rows[k], strict=True)]
            right[i] = right[i] - factor * right[k]
    for k in reversed(range(size)):
        right[k] = (right[k] - sum(rows[k][j] * right[j] for j in range(k + 1, size))) / rows[k][k]
    return sum(c * at**k for k, c in enumerate(right))


@pytest.mark.parametrize("degree", [1, 2])
def test_gtc_and_uncertainties_find_the_same_with_correlated_masses(degree):
    gtc, uncertainties = library("GTC"), library("uncertainties")
    given, u = correlated_loads(0.6)
    points = UncertainPoints.of(COUNTS, LOADS_G, degree, **given)
    ours = curve_uncertainty(points, numpy.array([1.3e6]))
    t = (COUNTS - 1.8e6) / 1e6
    x = [gtc.ureal(v, 20e-6) for v in t]
    y = [gtc.ureal(v, s, independent=False) for v, s in zip(LOADS_G, u, strict=True)]
    for i in range(10):
        for j in range(i):
            gtc.set_correlation(0.6, y[i], y[j])
    theirs = normal_equations(x, y, degree, -0.5)
    assert ours.load_g[0] == pytest.approx(theirs.x, rel=1e-12)
    assert ours.u_g[0] == pytest.approx(theirs.u, rel=1e-9)
    covariance = numpy.outer(u, u) * (0.6 + 0.4 * numpy.eye(10))
    y = uncertainties.correlated_values(LOADS_G, covariance)
    x = [uncertainties.ufloat(v, 20e-6) for v in t]
    assert ours.u_g[0] == pytest.approx(normal_equations(x, y, degree, -0.5).s, rel=1e-8)


def test_what_all_loads_share_moves_the_curve_with_them():
    points = a_calibration(3, common_u_load_g=LOADS_G * 2e-5)
    found = curve_uncertainty(points, AT)
    assert found.u_g == pytest.approx(found.load_g * 2e-5, rel=1e-9)
    assert found.by_common_g == pytest.approx(found.u_g)
    assert not found.by_counts_g2.any() and not found.by_loads_g2.any()


def test_the_load_at_one_place_has_a_budget():
    found = curve_uncertainty(a_calibration(2, **UNCERTAIN), AT)
    budget = found.budget(1)
    assert (budget.estimate, budget.u) == (pytest.approx(found.load_g[1]), pytest.approx(found.u_g[1]))
    reading = Component("reading", 10.0, "A", "t", 9, AT[1], 1 / 2000)
    assert found.budget(1, reading).u == pytest.approx(sqrt(found.u_g[1] ** 2 + 0.005**2))


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_many_calibrations_at_once_are_those_one_by_one(degree):
    random = numpy.random.default_rng(2)
    counts, loads = COUNTS + random.normal(0, 20, (3, 4, 10)), LOADS_G + random.normal(0, 0.01, (3, 4, 10))
    one = a_calibration(degree, **UNCERTAIN)
    all_ = curve_uncertainty(replace(one, counts=counts, load_g=loads), AT)
    single = curve_uncertainty(replace(one, counts=counts[2, 1], load_g=loads[2, 1]), AT)
    assert all_.load_g[2, 1] == pytest.approx(single.load_g, rel=1e-14)
    assert all_.u_g[2, 1] == pytest.approx(single.u_g, rel=1e-12)


def test_points_that_do_not_determine_the_curve_are_refused():
    with pytest.raises(InputError, match="2 different counts do not determine degree 2"):
        UncertainPoints.of([1, 2, 2], [1, 2, 2], 2)
    with pytest.raises(InputError, match="2 values for 3 points"):
        UncertainPoints.of([1, 2, 3], [1, 2, 3], u_counts=[1, 2])


@pytest.mark.parametrize("degree", [1, 3])
def test_intervals_hold_the_truth_of_simulated_calibrations(degree):
    """10,000 calibrations with uncertain loads, common and own, and uncertain counts: 95 % of the intervals hold the
    truth, give or take half a per cent."""
    random = numpy.random.default_rng(20)
    curve = numpy.array([50.0, 500.0, 3.0, -2.0])[: degree + 1]
    true_counts = numpy.linspace(-1.0, 1.0, 10)
    true_g = numpy.polyval(curve[::-1], true_counts)
    u_counts, own, common = numpy.full(10, 2e-5), numpy.full(10, 0.005), abs(true_g) * 1e-5
    weights, at, truth_g = numpy.ones(10), numpy.array([0.37]), numpy.polyval(curve[::-1], 0.37)
    counts = true_counts + u_counts * random.normal(size=(10_000, 10))
    loads_g = true_g + own * random.normal(size=(10_000, 10)) + common * random.normal(size=(10_000, 1))
    found = curve_uncertainty(UncertainPoints(counts, loads_g, degree, u_counts, own, common, weights), at)
    held = abs(found.load_g - truth_g) <= 1.959964 * found.u_g
    assert held.mean() == pytest.approx(0.95, abs=0.005)
