"""The shape that units share: recovered where it is exact, and as sure as stated where units differ."""

from decimal import Decimal
from fractions import Fraction

import numpy
import pytest
from scipy.special import stdtrit

from scalewright.analysis.pooling import pool
from scalewright.analysis.type_curve import Trim, TrimLoad
from scalewright.errors import InputError
from tests.host.analysis.runs import a_run

MAX_G = Decimal(5000)
LOADS = numpy.arange(0, 5001, 500)
Q = numpy.linspace(0, 1, 10_001)


def counts_at(loads, zero, span, a2, a3):
    """Return the counts of a unit: its q at each share of Max, by interpolation in a fine table."""
    return zero + span * numpy.interp(loads / 5000, Q + a2 * (Q**2 - Q) + a3 * (Q**3 - Q), Q)


def a_unit(zero, span, a2, a3, noise=0.0, random=None):
    counts = counts_at(LOADS, zero, span, a2, a3) + (random.normal(0, noise, len(LOADS)) if random else 0)
    return a_run(LOADS, numpy.round(counts, 4) if noise == 0 else numpy.round(counts).astype(int))


def test_units_that_differ_in_zero_and_span_only_give_back_their_shape():
    units = {"A": a_unit(84_000, 1.75e6, -0.002, 0.0005), "B": a_unit(-120_000, -1.61e6, -0.002, 0.0005)}
    curve = pool(units, 3, MAX_G, "test")
    assert list(map(float, curve.shape)) == pytest.approx([-0.002, 0.0005], abs=1e-8)
    assert numpy.abs(curve.shape_covariance).max() < 1e-15
    assert (curve.units[1].zero_counts, curve.units[1].full_counts) == (
        pytest.approx(-120_000, abs=0.01), pytest.approx(-1.73e6, abs=0.01)
    )  # fmt: skip
    assert curve.degrees_of_freedom == 1


def test_a_trimmed_unit_is_right_at_every_step():
    curve = pool({"A": a_unit(84_000, 1.75e6, -0.002, 0.0005)}, 3, MAX_G, "test")
    counts = counts_at(LOADS, 60_000, 1.9e6, -0.002, 0.0005)
    trim = Trim(curve, TrimLoad(Fraction(0), Fraction(counts[0])), TrimLoad(Fraction(5000), Fraction(counts[-1])))
    assert [float(trim.load_g(Fraction(c))) for c in counts] == pytest.approx(list(map(float, LOADS)), abs=1e-3)
    line = 5000 * (counts - counts[0]) / (counts[-1] - counts[0])
    assert numpy.abs(line - LOADS).max() > 1.5  # what a two-point adjustment without the type's curve would be off


def test_one_unit_says_nothing_of_others_and_a_straight_line_has_no_shape():
    unit = a_unit(84_000, 1.75e6, -0.002, 0.0005)
    assert pool({"A": unit}, 2, MAX_G, "test").shape_covariance is None
    line = pool({"A": unit, "B": unit}, 1, MAX_G, "test")
    assert (line.shape, line.shape_covariance) == ((), ())


def test_the_interval_of_a_further_unit_holds_its_load_as_often_as_it_says():
    """Four units known, a fifth trimmed: 95 % intervals with t for 3 degrees of freedom, 300 times over."""
    random = numpy.random.default_rng(2)
    held = 0
    for _ in range(300):
        a2 = random.normal(-0.002, 2e-4, 5)
        units = {str(k): a_unit(80_000, 1.75e6, a2[k], 0.0, noise=1.0, random=random) for k in range(4)}
        curve = pool(units, 2, MAX_G, "test")
        zero, middle, full = counts_at(numpy.array([0, 2000, 5000]), 90_000, 1.8e6, a2[4], 0.0)
        trim = Trim(curve, TrimLoad(Fraction(0), Fraction(zero)), TrimLoad(Fraction(5000), Fraction(full)))
        u_g = trim.u_load(Fraction(middle)).shape_g
        held += abs(float(trim.load_g(Fraction(middle))) - 2000) <= stdtrit(curve.degrees_of_freedom, 0.975) * u_g
    assert held / 300 == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / 300) ** 0.5)


@pytest.mark.parametrize(
    ("loads", "degree", "message"),
    [
        (range(0, 2001, 200), 2, r"run\.csv: its loads do not reach from 0 to Max, 5000 g"),
        ([0, 5000], 1, "leave no degree of freedom"),
        ([0, 2500, 5000], 3, "do not determine degree 3"),
        (range(0, 5001, 500), 4, "degree 1 to 3"),
    ],
)
def test_units_that_do_not_show_the_whole_range_are_refused(loads, degree, message):
    with pytest.raises(InputError, match=message):
        pool({"A": a_run(loads, [100 + 3 * load for load in loads])}, degree, MAX_G, "test")


def test_no_unit_at_all_is_refused():
    with pytest.raises(InputError, match="0 units"):
        pool({}, 2, MAX_G, "test")
