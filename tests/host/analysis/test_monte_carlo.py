"""Monte Carlo against the examples of JCGM 101:2008 and against closed forms."""

from math import comb, inf, sqrt

import numpy
import pytest

from scalewright.analysis.budget import Component, coverage_factor, from_limits, from_readings
from scalewright.analysis.monte_carlo import (
    BLOCK,
    MonteCarlo,
    adaptive_monte_carlo,
    input_blocks,
    monte_carlo,
    numerical_tolerance,
    validate,
)
from scalewright.analysis.propagation import evaluate
from scalewright.errors import InputError, MeasurementError
from tests.host.analysis.test_propagation import MASS_CALIBRATION, MASS_INPUTS, mass_difference

DRAWS = 1_000_000


def total(x):
    return x.sum(axis=0)


def share_above(y, half_widths, wide):
    """The probability that a sum of rectangular quantities, one much wider than the others, exceeds y near its edge.

    Of S, the sum of n of half-width h: E[(S - a)+] by truncated powers (closed form); over the width of the wide one.
    """
    n, h, a = len(half_widths), half_widths[0], y - wide
    powers = (comb(n, k) * (-1) ** k * max((n - 2 * k) * h - a, 0) ** (n + 1) for k in range(n + 1))
    expected_excess = sum(powers)
    for k in range(1, n + 2):
        expected_excess /= k
    return expected_excess / (2 * h) ** n / (2 * wide)


def test_four_normal_quantities():
    """JCGM 101:2008, 9.2.2: a normal distribution with u = 2.0 and the 95 % interval +- 3.92."""
    drawn = monte_carlo(total, [Component(str(k), 1.0) for k in range(4)], DRAWS)
    assert drawn.estimate == pytest.approx(0, abs=4 * 2 / sqrt(DRAWS))
    assert drawn.u == pytest.approx(2, abs=4 * 2 / sqrt(2 * DRAWS))
    assert drawn.symmetric_interval(0.95) == pytest.approx((-3.92, 3.92), abs=0.02)


def test_four_rectangular_quantities():
    """JCGM 101:2008, 9.2.3: +- 3.88 where the GUM gives +- 3.92; in closed form 2 sqrt 3 (2 - 0.6**(1/4)) = 3.8794."""
    drawn = monte_carlo(total, [from_limits(str(k), sqrt(3)) for k in range(4)], DRAWS)
    exact = 2 * sqrt(3) * (2 - 0.6**0.25)
    assert round(exact, 2) == 3.88
    assert drawn.u == pytest.approx(2, abs=0.006)
    assert drawn.symmetric_interval(0.95) == pytest.approx((-exact, exact), abs=0.015)
    assert drawn.shortest_interval(0.95) == pytest.approx((-exact, exact), abs=0.06)


def test_one_rectangular_quantity_ten_times_as_wide():
    """JCGM 101:2008, 9.2.4: +- 17.0 where the GUM gives +- 19.9 (from memory; the closed form says so too)."""
    inputs = [from_limits(str(k), sqrt(3)) for k in range(3)] + [from_limits("wide", 10 * sqrt(3))]
    low, high = monte_carlo(total, inputs, DRAWS).symmetric_interval(0.95)
    for end in (-low, high):
        assert share_above(end, [sqrt(3)] * 3, 10 * sqrt(3)) == pytest.approx(0.025, abs=6e-4)
        assert round(end, 1) == pytest.approx(17.0)
    assert coverage_factor(inf, 0.95) * sqrt(103) == pytest.approx(19.9, abs=0.05)


def test_the_mass_of_a_weight():
    """JCGM 101:2008, 9.3: u = 0.0755 mg in closed form, shortest 95 % interval 1.084 to 1.383 (recomputed)."""
    drawn = monte_carlo(mass_difference, MASS_INPUTS, DRAWS)
    expected = MASS_CALIBRATION["recomputed"]
    assert drawn.estimate == pytest.approx(1.2340, abs=3e-4)
    assert drawn.u == pytest.approx(expected["u_exact_closed_form"], abs=2e-4)
    assert drawn.shortest_interval(0.95) == pytest.approx(expected["MC_2e7"]["shortest95"], abs=3e-3)


def test_the_first_order_of_that_weight_does_not_hold_and_the_second_does():
    """JCGM 101:2008, 9.3.3 and table 7: with one digit the tolerance is 0.005 mg; d is 0.045 and 0.043 mg."""
    published = MASS_CALIBRATION["published"]
    drawn = adaptive_monte_carlo(mass_difference, MASS_INPUTS, digits=1, probability=0.95, finer=5)
    interval = drawn.shortest_interval(0.95)
    holds = []
    for second_order in (False, True):
        budget = evaluate(mass_difference, MASS_INPUTS, second_order=second_order)
        half = coverage_factor(inf, 0.95) * budget.u
        result = validate((budget.estimate - half, budget.estimate + half), interval, drawn.u, digits=1)
        assert result.tolerance == pytest.approx(published["delta"])
        holds.append(result.holds)
        if not second_order:
            found = [result.difference_low, result.difference_high]
            assert found == pytest.approx(published["d_low_high_GUF1"], abs=2e-3)
    assert holds == [published["validated"]["GUF1"], published["validated"]["GUF2"]]


def test_the_adaptive_procedure_stops_when_it_is_sure_and_not_before():
    inputs = [Component("x", 1.0)]
    one, three = (adaptive_monte_carlo(total, inputs, digits=digits, probability=0.95) for digits in (1, 3))
    assert len(one.values) < len(three.values)
    for drawn, tolerance in ((one, 0.5), (three, 0.005)):
        found = (drawn.estimate, drawn.u, *drawn.shortest_interval(0.95))
        assert found == pytest.approx((0, 1, -1.96, 1.96), abs=2 * tolerance)  # four standard deviations
    with pytest.raises(MeasurementError, match="200000 draws do not settle 4 digits"):
        adaptive_monte_carlo(total, inputs, digits=4, most_draws=200_000)


@pytest.mark.parametrize(
    ("u", "digits", "tolerance"),
    [(0.00035, 2, 0.000005), (2.05, 1, 0.5), (0.0754, 1, 0.005), (0.0996, 1, 0.05), (21, 2, 0.5)],
)
def test_the_tolerance_is_half_a_unit_of_the_last_digit_that_counts(u, digits, tolerance):
    """JCGM 101:2008, 7.9.2 with its examples."""
    assert numerical_tolerance(u, digits) == pytest.approx(tolerance)


@pytest.mark.parametrize(
    ("quantity", "kurtosis"),
    [
        (Component("normal", 2.0, estimate=5.0), 3.0),
        (from_limits("rectangular", 2.0 * sqrt(3), estimate=5.0), 1.8),
        (from_limits("triangular", 2.0 * sqrt(6), "triangular", 5.0), 2.4),
        (from_limits("arcsine", 2.0 * sqrt(2), "arcsine", 5.0), 1.5),
    ],
    ids=lambda value: getattr(value, "name", ""),
)
def test_each_distribution_has_its_moments(quantity, kurtosis):
    """Mean, standard deviation and kurtosis in closed form; the distributions of JCGM 101:2008, table 1."""
    values = monte_carlo(total, [quantity], DRAWS).values
    standard = (values - 5.0) / 2.0
    assert standard.mean() == pytest.approx(0, abs=0.004)
    assert (standard**2).mean() == pytest.approx(1, abs=0.006)
    assert (standard**4).mean() == pytest.approx(kurtosis, abs=0.03)


def test_few_readings_are_drawn_from_a_t_distribution():
    """JCGM 101:2008, 6.4.9.4: scaled by s / sqrt n, n - 1 degrees of freedom: the classic 95 % interval."""
    component = from_readings("readings", [10.1, 9.9, 10.0, 10.3, 9.7])
    low, high = monte_carlo(total, [component], DRAWS).symmetric_interval(0.95)
    half = 2.776445 * component.u  # t of 4 degrees of freedom, 97.5 %: JCGM 100:2008, table G.2 prints 2.78
    assert (low, high) == pytest.approx((10 - half, 10 + half), abs=0.01 * half)


def test_correlated_inputs_are_drawn_together():
    inputs = [Component("a", 0.3), Component("b", 0.4), Component("c", 1.0)]
    blocks = input_blocks(inputs, 1, {("a", "b"): 0.6, ("b", "c"): -0.5})
    draws = numpy.concatenate([next(blocks) for _ in range(60)], axis=1)
    assert numpy.corrcoef(draws) == pytest.approx(numpy.array([[1, 0.6, 0], [0.6, 1, -0.5], [0, -0.5, 1]]), abs=0.01)
    assert draws.std(axis=1) == pytest.approx([0.3, 0.4, 1.0], rel=0.01)
    alike = monte_carlo(lambda x: x[0] / 0.3 - x[1] / 0.4, inputs, BLOCK, correlations={("a", "b"): 1.0})
    assert abs(alike.values).max() < 1e-7


def test_correlations_that_cannot_be_drawn_are_refused():
    rectangular = [Component("a", 1.0), from_limits("b", 1.0)]
    with pytest.raises(InputError, match="b is correlated and rectangular"):
        monte_carlo(total, rectangular, 10, correlations={("a", "b"): 0.5})
    three = [Component(name, 1.0) for name in "abc"]
    with pytest.raises(InputError, match="contradict"):
        monte_carlo(total, three, 10, correlations={("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9})
    with pytest.raises(InputError, match="expected -1 to 1 between two of a, b, c"):
        monte_carlo(total, three, 10, correlations={("a", "d"): 0.9})


def test_the_same_seed_gives_the_same_draws_and_more_begin_with_the_fewer():
    inputs = [Component("a", 1.0), from_limits("b", 1.0)]
    fewer, more = (monte_carlo(total, inputs, draws, seed=7).values for draws in (5000, 20_000))
    assert (more[:5000] == fewer).all()
    assert len(numpy.unique(more)) == 20_000
    assert not (monte_carlo(total, inputs, 5000, seed=8).values == fewer).any()


def test_intervals_count_their_draws():
    """JCGM 101:2008, 7.7: of the numbers 0 to 99, shuffled, 95 lie from one end up to, not including, the other."""
    drawn = MonteCarlo(numpy.random.default_rng(0).permutation(100).astype(float))
    assert drawn.symmetric_interval(0.95) == (2.0, 97.0)
    assert drawn.shortest_interval(0.95) == (0.0, 95.0)
    skewed = MonteCarlo(numpy.arange(1.0, 101.0) ** 2)
    assert skewed.shortest_interval(0.95) == (1.0, 96.0**2)
    with pytest.raises(InputError, match="10 draws"):
        MonteCarlo(numpy.arange(10.0)).symmetric_interval(0.99)


def test_intervals_hold_the_truth_as_often_as_they_say():
    """1000 times five readings of a truth of 0: 95.45 % hold it, give or take 3.3 standard deviations of that share."""
    random = numpy.random.default_rng(11)
    experiments, held = 1000, 0
    for seed in range(experiments):
        component = from_readings("readings", random.normal(0, 1, 5).tolist())
        division = from_limits("division", 0.5, estimate=float(random.uniform(-0.5, 0.5)))
        low, high = monte_carlo(total, [component, division], BLOCK, seed=seed).symmetric_interval()
        held += low <= 0 <= high
    assert held / experiments == pytest.approx(0.9545, abs=3.3 * sqrt(0.9545 * 0.0455 / experiments))
