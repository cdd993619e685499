"""Least squares, time constants and scatter of a soak, against other libraries and known noise."""

import numpy as np
import pytest
from scipy.signal import lfilter

from scalewright.analysis.soak import block_means
from scalewright.analysis.soak_model import Model
from scalewright.analysis.soak_problem import SoakProblem, blocked_noise
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library
from tests.host.analysis.soaks import NOISE_COUNTS, soak, through_the_range

SOAK = soak(through_the_range([20.0, 30.0, 10.0], 3000.0, minutes=30.0))
MODEL = Model(2, 2, True, (15.0, 400.0), 3000.0)


def test_the_linear_terms_and_their_covariance_are_those_of_statsmodels() -> None:
    """WLS of statsmodels by QR (its default cuts off small singular values), weights: the readings of each block."""
    regression = library("statsmodels.regression.linear_model")
    problem = SoakProblem(block_means(SOAK), 20.0)
    for model in (Model(1, 1, False), MODEL):
        ours = problem.solve(model)
        theirs = regression.WLS(problem.blocks.counts, ours.design, problem.blocks.number).fit(method="qr")
        levels = np.zeros(len(ours.names))
        levels[:2] = list(problem.levels.values())
        assert ours.coefficients + levels == pytest.approx(theirs.params, rel=1e-6)
        assert ours.residuals == pytest.approx(theirs.resid, abs=1e-5)
    conclusion = problem.conclude(Model(1, 1, False))
    linear = regression.WLS(problem.blocks.counts, problem.solve(Model(1, 1, False)).design, problem.blocks.number)
    expected = linear.fit(method="qr").normalized_cov_params * conclusion.noise.variance
    assert conclusion.covariance == pytest.approx(expected, rel=1e-6)


def test_an_f_test_of_independent_noise_is_that_of_statsmodels() -> None:
    """compare_f_test of statsmodels on one-second means; ours may find a little more scatter in longer blocks."""
    regression = library("statsmodels.regression.linear_model")
    problem = SoakProblem(block_means(soak([(0.0, 3000.0, 20.0), (0.0, 3000.0, 20.0)], zero_per_c=0.0)), 20.0)
    narrow, wide = Model(0, 0, False), Model(1, 0, False)
    fits = [
        regression.WLS(problem.blocks.counts, problem.solve(model).design, problem.blocks.number).fit(method="qr")
        for model in (narrow, wide)
    ]
    f, p, _ = fits[1].compare_f_test(fits[0])
    ours = problem.test(narrow, wide)
    assert f / 2 < ours.f <= f * (1 + 1e-9) and ours.p >= p - 0.02


def test_time_constants_are_found_from_afar() -> None:
    problem = SoakProblem(block_means(SOAK), 20.0)
    found = problem.refined(Model(1, 1, True, (40.0, 1500.0))).creep_s
    assert found == pytest.approx((15.0, 400.0), rel=0.2)  # load_cell.py: 15 s and 400 s


def test_the_uncertainty_of_a_time_constant_counts_in_that_of_its_share() -> None:
    """With the time constant taken as known the share looks better known than it is."""
    problem = SoakProblem(block_means(SOAK), 20.0)
    conclusion = problem.conclude(problem.refined(Model(1, 1, True, (15.0, 400.0))))
    k = conclusion.names.index("creep 1")
    kept = [i for i, name in enumerate(conclusion.names) if not name.startswith("log")]
    information = np.linalg.inv(conclusion.covariance)[np.ix_(kept, kept)]
    assert conclusion.covariance[k, k] > 1.5 * np.linalg.inv(information)[k, k]


def test_white_noise_is_found_as_it_is() -> None:
    blocks = block_means(soak([(0.0, 20_000.0, 20.0)], zero_per_c=0.0))
    noise = blocked_noise(blocks, blocks.counts - blocks.counts.mean(), 1)
    assert noise.variance == pytest.approx(NOISE_COUNTS**2 / 10, rel=0.5)  # of one-second means; the largest of several
    assert noise.variance > 0.9 * NOISE_COUNTS**2 / 10
    assert noise.has_levelled


def test_correlated_noise_is_found_larger_by_what_theory_says() -> None:
    """First-order autoregressive noise: means scatter (1 + r) / (1 - r) times as independent values would."""
    r = 0.9
    blocks = block_means(soak([(0.0, 40_000.0, 20.0)], noise=0.0, zero_per_c=0.0))
    draws = np.random.default_rng(5).normal(size=(20, len(blocks.counts)))
    ratios = [blocked_noise(blocks, lfilter([1], [1, -r], one), 1).variance for one in draws]
    white = np.median(blocks.number) / (1 - r**2)  # nearly all blocks are as long as that
    assert np.mean(ratios) / white == pytest.approx((1 + r) / (1 - r), rel=0.35)


def test_noise_that_goes_on_growing_is_said_to() -> None:
    blocks = block_means(soak([(0.0, 20_000.0, 20.0)], noise=0.0, zero_per_c=0.0))
    wandering = np.cumsum(np.random.default_rng(2).normal(size=len(blocks.counts)))
    assert not blocked_noise(blocks, wandering - wandering.mean(), 1).has_levelled


def test_terms_that_cannot_be_told_apart_are_refused() -> None:
    """A warm-up that takes for ever is a constant; a temperature that never changes tells nothing."""
    steady = soak([(0.0, 1200.0, 20.0)], room={"time_constant_s": 1e12})
    for model in (Model(0, 0, False, (), 1e9), Model(1, 0, False)):
        with pytest.raises(InputError, match="cannot be told apart"):
            SoakProblem(block_means(steady), 20.0).conclude(model)
