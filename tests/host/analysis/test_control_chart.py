"""Published charts come back to every printed digit; limits, averages and false alarms are those of theory."""

import json
import os
import random
from decimal import ROUND_DOWN, Decimal
from pathlib import Path

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal, stats

from scalewright.analysis.chart_rules import RULES, WESTERN_ELECTRIC
from scalewright.analysis.control_chart import (
    EWMA,
    LEAST_CHECKS,
    WEIGHT,
    WIDTH_SD,
    BaseLine,
    base_line,
    control_chart,
    ewma,
    ewma_sd,
    stated_base_line,
)
from scalewright.errors import InputError

PUBLISHED = json.loads((Path(__file__).parents[2] / "reference_data/nist_control_charts.json").read_text("utf-8"))
TRIALS = int(os.environ.get("SCALEWRIGHT_CHARTS", "100"))
UNIT = BaseLine(0.0, 1.0, "stated")
weights = st.integers(1, 20).map(lambda parts: parts / 20)
whole = st.lists(st.integers(-40, 40).map(float), min_size=1, max_size=40)


def rounded_like(value: float, text: str) -> str:
    return str(Decimal(value).quantize(Decimal(text)))


def test_the_individuals_chart_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2.2."""
    page = PUBLISHED["individuals"]
    chart = control_chart(page["values"], base_line(page["values"]), rules=WESTERN_ELECTRIC)
    lower, upper = chart.limits
    assert rounded_like(chart.base.mean, page["mean"]) == page["mean"]
    assert rounded_like(chart.base.sd * 1.128, page["mean_moving_range"]) == page["mean_moving_range"]
    assert rounded_like(upper, page["upper_limit"]) == page["upper_limit"]
    assert rounded_like(lower, page["lower_limit"]) == page["lower_limit"]
    assert not [found for found in chart.signals if found.rule == "beyond 3 sd"]


def test_the_ewma_chart_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2.4, which cuts the lower limit and says that every average is within."""
    page = PUBLISHED["ewma"]
    base = stated_base_line(page["target"], page["sd"])
    chart = control_chart(page["values"], base, weight=page["weight"], is_asymptotic=True)
    assert [rounded_like(average, "0.01") for average in chart.averages] == page["averages"]
    assert rounded_like(ewma_sd(1, page["weight"]), page["factor"]) == page["factor"]
    lower, upper = base.mean - chart.half_widths[0], base.mean + chart.half_widths[0]
    assert rounded_like(upper, page["upper_limit"]) == page["upper_limit"]
    assert str(Decimal(lower).quantize(Decimal("0.0001"), ROUND_DOWN)) == page["lower_limit"]
    assert chart.signals == ()


@given(whole, weights, st.integers(-40, 40))
def test_the_average_is_its_closed_form(values: list[float], weight: float, start: int) -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2.4: weights lambda (1 - lambda)^i; scipy's recursive filter gives the same."""
    n = len(values)
    closed = [
        sum(weight * (1 - weight) ** (i - j) * values[j] for j in range(i + 1)) + (1 - weight) ** (i + 1) * start
        for i in range(n)
    ]
    filtered, _ = signal.lfilter([weight], [1, weight - 1], values, zi=[(1 - weight) * start])
    ours = ewma(values, start, weight)
    assert ours == pytest.approx(closed, rel=1e-12, abs=1e-9)
    assert ours == pytest.approx(list(filtered), rel=1e-12, abs=1e-9)


@given(weights, st.integers(1, 60))
def test_the_sd_of_the_average_is_that_of_its_weights(weight: float, checks: int) -> None:
    """JCGM 100:2008, 5.1.2, for independent values: the root of the sum of the squared weights."""
    assert ewma_sd(2.0, weight, checks) == pytest.approx(
        2.0 * sum((weight * (1 - weight) ** i) ** 2 for i in range(checks)) ** 0.5
    )
    assert ewma_sd(2.0, weight, checks) <= ewma_sd(2.0, weight) * (1 + 1e-12)


@given(whole, st.sampled_from([0.125, 0.5, 2.0, 64.0]), st.integers(-1000, 1000), weights)
def test_a_chart_says_the_same_in_any_unit_and_from_any_zero(
    values: list[float], factor: float, shift: int, weight: float
) -> None:
    base = BaseLine(0.0, 9.5, "stated")
    moved = BaseLine(base.mean * factor + shift, base.sd * factor, "stated")
    plain = control_chart(values, base, rules=tuple(RULES), weight=weight)
    same = control_chart([v * factor + shift for v in values], moved, rules=tuple(RULES), weight=weight)
    nearest = min(abs(abs(z) - w) for z, w in zip(plain.averages, plain.half_widths, strict=True))
    if nearest > 1e-6:  # a hair's breadth from a limit, rounding decides
        assert same.signals == plain.signals


@given(whole)
def test_what_is_above_is_below_in_the_mirror(values: list[float]) -> None:
    other = {"above": "below", "below": "above", "rising": "falling", "falling": "rising", "alternating": "alternating"}
    mirrored = control_chart([-value for value in values], BaseLine(0.0, 9.5, ""), rules=tuple(RULES))
    straight = control_chart(values, BaseLine(0.0, 9.5, ""), rules=tuple(RULES))
    assert {(s.rule, s.points, other[s.side]) for s in mirrored.signals} == {
        (s.rule, s.points, s.side) for s in straight.signals
    }


def test_the_moving_range_estimates_the_standard_deviation() -> None:
    """E|x - y| of two standard normal values is 2 / sqrt(pi) = 1.12838 (scipy: folded normal), rounded to 1.128."""
    assert round(float(stats.foldnorm.mean(0, scale=2**0.5)), 3) == 1.128
    values = numpy.random.default_rng(7).normal(5, 2, 100_000)
    assert base_line(values.tolist()).sd == pytest.approx(2, rel=0.01)


def test_a_base_line_of_few_checks_is_provisional_and_of_fewer_refused() -> None:
    assert base_line([1.0, 2.0] * 10).source == "first 20 checks"
    assert base_line([1.0, 2.0, 1.0, 2.0, 1.0]).source == "first 5 checks, provisional"
    with pytest.raises(InputError, match=f"4 checks; a base line takes {LEAST_CHECKS}"):
        base_line([1.0, 2.0, 1.0, 2.0])


def test_checks_that_all_agree_make_no_base_line() -> None:
    with pytest.raises(InputError, match="sd 0; expected"):
        base_line([0.125] * 8)


@pytest.mark.parametrize(
    ("mean", "sd"), [(float("nan"), 1), (0, 0), (0, -1), (float("inf"), 1), (0, float("inf")), (0, float("nan"))]
)
def test_a_base_line_is_made_of_numbers(mean: float, sd: float) -> None:
    with pytest.raises(InputError, match="base line"):
        stated_base_line(mean, sd)


def test_what_cannot_be_charted_is_bad_input() -> None:
    with pytest.raises(InputError, match="weight 0, width 3; expected above 0"):
        control_chart([0.0], UNIT, weight=0)
    with pytest.raises(InputError, match="no rule 'none'"):
        control_chart([0.0], UNIT, rules=("none",))
    with pytest.raises(InputError, match="no finite number"):
        control_chart([0.0, float("nan")], UNIT)


def test_a_control_limit_is_not_a_tolerance() -> None:
    steady = control_chart([0.0, 0.1, -0.1, 0.0], BaseLine(0.0, 0.1, ""), tolerance=0.5)
    assert (steady.beyond_tolerance, steady.scatters_beyond_tolerance) == ((), False)
    usual_but_not_permitted = control_chart([2.0, -2.5, 1.0], BaseLine(0.0, 1.0, ""), tolerance=1.5)
    assert usual_but_not_permitted.signals == ()
    assert usual_but_not_permitted.beyond_tolerance == (0, 1)
    assert usual_but_not_permitted.scatters_beyond_tolerance
    permitted_but_not_usual = control_chart([0.0, 0.6], BaseLine(0.0, 0.1, ""), tolerance=1.5)
    assert permitted_but_not_usual.beyond_tolerance == ()
    assert {found.rule for found in permitted_but_not_usual.newest_signals} == {"beyond 3 sd", EWMA}


def test_a_small_lasting_shift_shows_in_the_average_only() -> None:
    random_ = random.Random(3)
    values = [random_.gauss(0, 1) for _ in range(30)] + [random_.gauss(1.2, 1) for _ in range(12)]
    chart = control_chart(values, UNIT)
    assert {found.rule for found in chart.signals} == {EWMA}
    assert chart.signals[0].side == "above" and chart.signals[0].points[0] >= 30


def noise(checks: int, shift: float, seed: int) -> list[list[float]]:
    """TRIALS rows of independent normal values."""
    return numpy.random.default_rng(seed).normal(shift, 1, (TRIALS, checks)).tolist()


def assert_near(lengths: list[int], published: float) -> None:
    """Within four standard errors; run lengths scatter about as much as they are long."""
    assert numpy.mean(lengths) == pytest.approx(published, abs=4 * numpy.std(lengths) / len(lengths) ** 0.5)


def markov_run_length(weight: float, width: float, shift: float, single: float = 40.0, states: int = 401) -> float:
    """The average run length of an EWMA by the chain of D. Brook and D. A. Evans, Biometrika 59 (1972) 539-549.

    single: a value beyond it, in standard deviations, ends the run too.
    """
    limit = width * (weight / (2 - weight)) ** 0.5
    half = limit / states
    middles = numpy.linspace(-limit + half, limit - half, states)
    edges = (middles[None, :] - (1 - weight) * middles[:, None]) / weight - shift
    low, high = (numpy.clip(edges + side * half / weight, -single - shift, single - shift) for side in (-1, 1))
    move = stats.norm.cdf(high) - stats.norm.cdf(low)
    return float(numpy.linalg.solve(numpy.eye(states) - move, numpy.ones(states))[states // 2])


@pytest.mark.parametrize(
    ("weight", "width", "shift", "published"),
    [
        # S. V. Crowder, J. Quality Technology 21 (1989) 155-162, as the manual of the R package spc quotes it: widths
        # for 250, to two decimals. Then J. M. Lucas, M. S. Saccucci, Technometrics 32 (1990) 1-12, from memory.
        (0.05, 2.32, 0.0, 250),
        (0.1, 2.55, 0.0, 250),
        (0.2, 2.72, 0.0, 250),
        (0.25, 2.76, 0.0, 250),
        (0.1, 2.814, 1.0, 10.3),
        (0.2, 2.962, 1.0, 10.5),
        (0.2, 2.962, 2.0, 3.7),
        (0.4, 3.054, 2.0, 3.5),
    ],
)
def test_the_theory_of_false_alarms_is_the_published_one(
    weight: float, width: float, shift: float, published: float
) -> None:
    exact = markov_run_length(weight, width, shift)
    assert exact == pytest.approx(published, rel=0.02 if published == 250 else 0, abs=0.06)


@pytest.mark.parametrize(
    ("weight", "width", "shift", "checks"), [(0.2, 2.72, 0.0, 3000), (0.1, 2.814, 1.0, 60), (0.4, 3.054, 2.0, 60)]
)
def test_an_ewma_alarms_as_often_as_theory_says(weight: float, width: float, shift: float, checks: int) -> None:
    charts = (
        control_chart(values, UNIT, rules=(), weight=weight, width=width, is_asymptotic=True)
        for values in noise(checks, shift, seed=1990)
    )
    assert_near([1 + chart.signals[0].points[0] for chart in charts], markov_run_length(weight, width, shift))


def test_chance_alone_is_beyond_3_sd_once_in_371_checks() -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2: 371 on the average; 1 / 0.0026998 = 370.4 by scipy's normal distribution."""
    assert 1 / (2 * stats.norm.sf(3)) == pytest.approx(370.4, abs=0.05)
    checks = 200_000
    found = RULES["beyond 3 sd"].find(numpy.random.default_rng(371).normal(size=checks).tolist())
    assert len(found) == pytest.approx(checks / 370.4, abs=4 * (checks / 370.4) ** 0.5)


def test_with_the_western_electric_rules_it_is_once_in_92() -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2, after C. W. Champ, W. H. Woodall, Technometrics 29 (1987): 91.75."""
    least = dict(zip(WESTERN_ELECTRIC, (1, 2, 4, 8), strict=True))
    lengths = [
        1 + min(found.points[least[name] - 1] for name in least for found in RULES[name].find(values))
        for values in noise(1500, 0.0, seed=1987)
    ]
    assert_near(lengths, 91.75)


def test_with_the_rules_in_use_it_is_once_in_244() -> None:
    exact = markov_run_length(WEIGHT, WIDTH_SD, 0.0, single=WIDTH_SD)
    assert round(exact) == 244
    charts = (control_chart(values, UNIT, is_asymptotic=True) for values in noise(4000, 0.0, seed=250))
    assert_near([1 + min(found.points[0] for found in chart.signals) for chart in charts], exact)
