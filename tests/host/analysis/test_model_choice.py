"""The degree that points ask for: NIST's load cell by the F-test and by ASTM E74, and calibrations of our own."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy
import pytest

from scalewright.analysis.model_choice import (
    choose_degree,
    choose_degree_by_e74,
    e74_factor,
    lower_limit_factor,
    means_by_load,
)
from scalewright.analysis.polynomial import fit_polynomial
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library

STRD = Path(__file__).parents[2] / "reference_data" / "nist_strd"
DERIVED = json.loads((STRD / "pontius_derived.json").read_text())
E74 = DERIVED["e74_style"]
DEFLECTIONS, LOADS = zip(
    *(map(Decimal, line.split(",")) for line in (STRD / "pontius.csv").read_text().split()[1:]), strict=True
)


def test_the_certified_model_of_the_nist_load_cell_is_chosen():
    """NIST StRD Pontius is certified as a quadratic; F against the line is derived from its data."""
    choice = choose_degree(LOADS, DEFLECTIONS)
    assert choice.degree == choice.chosen.degree == 2
    assert choice.chosen.f == pytest.approx(DERIVED["quadratic_vs_linear_F"], rel=1e-11)
    assert [reason.split(":")[0] for reason in choice.reasons] == ["degree 3", "degree 2"]
    assert "not needed" in choice.reasons[0]
    assert "missed by 0.000215 instead of 0.00226" in choice.reasons[1]


def test_astm_e74_selects_the_same_degree_with_the_derived_figures():
    """ASTM E74, annex A1, formula from memory; figures derived from Pontius and computed factors."""
    choice = choose_degree_by_e74(LOADS, DEFLECTIONS)
    sds = {c.degree: c.fit.residual_sd for c in choice.candidates}
    assert {str(m): sd for m, sd in sds.items()} == pytest.approx(E74["s_by_degree"], rel=1e-7)
    assert {str(m): sds[m - 1] / sds[m] for m in range(2, 6)} == pytest.approx(E74["ratio"], rel=1e-6)
    assert {str(m): e74_factor(20, m) for m in range(2, 6)} == pytest.approx(E74["C"], rel=1e-5)
    assert choice.degree == max(m for m in range(2, 6) if sds[m - 1] / sds[m] > e74_factor(20, m)) == 2
    assert lower_limit_factor(fit_polynomial(LOADS, DEFLECTIONS, 2)) == pytest.approx(E74["LLF_deflection"], rel=1e-11)


@pytest.mark.parametrize(("degree", "factor"), [(2, 1.373), (3, 1.455), (4, 1.582), (5, 1.801)])
def test_astm_e74_factors_for_10_loads(degree, factor):
    """ASTM E74, annex A1 (formula from memory, factors computed independently)."""
    assert round(e74_factor(10, degree), 3) == factor


@pytest.mark.parametrize("seed", range(20))
def test_the_ratio_of_e74_and_the_f_test_are_one_rule(seed):
    random = numpy.random.default_rng(seed)
    loads = [Decimal(k) for k in range(10)]
    y = [Decimal(str(round(3 * k + random.uniform(0, 0.02) * k * k + random.normal(), 4))) for k in range(10)]
    by_f = choose_degree(loads, y, highest=2, level=0.025).candidates[1]
    ratio = by_f.fit.residual_sd and fit_polynomial(loads, y, 1).residual_sd / by_f.fit.residual_sd
    assert (by_f.p < 0.025) == (ratio > e74_factor(10, 2))


@pytest.mark.parametrize("weighted", [False, True])
def test_statsmodels_compares_the_nested_models_alike(weighted):
    random = numpy.random.default_rng(4)
    x, u = numpy.arange(12), random.integers(1, 4, 12) if weighted else numpy.ones(12, int)
    y = numpy.round(5 * x + 0.1 * x**2 + u * random.normal(0, 1, 12), 3)
    choice = choose_degree(
        [int(v) for v in x], [Decimal(str(v)) for v in y], u=[int(v) for v in u] if weighted else None
    )
    api = library("statsmodels.api")
    bases = [(x / 6 - 1)[:, None] ** numpy.arange(degree + 1) for degree in (1, 2, 3)]
    fits = [api.WLS(y, basis, weights=1.0 / u**2).fit() for basis in bases]
    for lower, fit, candidate in zip(fits[:-1], fits[1:], choice.candidates[1:], strict=True):
        f, p, _ = fit.compare_f_test(lower)
        assert (candidate.f, candidate.p) == (pytest.approx(f, rel=1e-6), pytest.approx(p, abs=1e-10))
        press = api.OLS(y / u, fit.model.exog / u[:, None]).fit().get_influence().resid_press * u
        assert candidate.left_out_rms == pytest.approx(numpy.sqrt(numpy.mean(press**2)), rel=1e-8)


def rounded(values):
    return [Decimal(str(round(value, 6))) for value in values]


def test_a_cubic_behind_a_quadratic_that_says_nothing_is_found():
    x = numpy.linspace(-1, 1, 11)
    noise = numpy.random.default_rng(0).normal(0, 1e-3, 11)
    choice = choose_degree(rounded(x), rounded(x + 0.1 * x**3 + noise))
    assert choice.candidates[1].p > 0.05
    assert choice.degree == 3


def test_a_straight_line_stays_one_as_often_as_the_level_says():
    """Two tests at 5 % each: about 90 % of straight lines are found straight; 7 % is 3 standard deviations of 150."""
    x = list(range(11))
    straight = 0
    for seed in range(150):
        y = rounded(3.0 * numpy.arange(11) + numpy.random.default_rng(seed).normal(0, 1, 11))
        straight += choose_degree(x, y).degree == 1
    assert straight / 150 == pytest.approx(0.9025, abs=0.073)


def test_a_term_that_rests_on_one_point_is_refused():
    x = [0, 1, 2, 3, 4, 5, 6, 7, 8, 30]
    noise = [1, -1, 0, -1, 1, 0, 1, 0, -1]
    y = [*(10 * value + e for value, e in zip(x, noise, strict=False)), 330]  # only the last load speaks for a curve
    choice = choose_degree(x, y, highest=2)
    assert choice.candidates[1].p < 0.001
    assert choice.degree == 1
    assert "rests on single points" in choice.reasons[0]


@pytest.mark.parametrize(
    ("y", "degree", "reason"),
    [
        ([0, 2, 4, 6, 8, 10], 1, "degree 2: degree 1 meets every point already"),
        ([0, 1, 4, 9, 16, 25], 2, "degree 2: meets every point, which degree 1 does not"),
        ([0, 1, 4, 9], 2, "degree 3: no degree of freedom is left"),
        ([0, 1, 4], 1, "degree 2: no degree of freedom is left"),
    ],
)
def test_points_that_a_curve_meets_exactly_have_no_scatter_to_test_by(y, degree, reason):
    choice = choose_degree(list(range(len(y))), y)
    assert choice.degree == degree
    assert any(text.startswith(reason) for text in choice.reasons)


def test_a_single_load_is_refused():
    with pytest.raises(InputError, match="do not determine a straight line"):
        choose_degree([5, 5], [1, 2])


def test_means_are_exact_and_by_rising_load():
    assert list(means_by_load([2, 0, 2, 2], [1, 5, 1, 0]).items()) == [(0, 5), (2, Fraction(2, 3))]
