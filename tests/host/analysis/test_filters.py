"""Filters that give what their names say, and nothing of the future."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.analysis.filters import exponential_mean, filters, mean_since, moving_mean, running_median
from shared_calc.chain_state import new_state
from shared_calc.conditioning import condition
from shared_calc.measuring_chain import MeasuringChain
from shared_calc.reading import MOVING
from tests.shared_calc.test_measuring_chain import EXPONENT, RISING

ALL = filters(32)
DEVICE = ALL[0]
recordings = st.lists(st.integers(-(1 << 20), 1 << 20), min_size=1, max_size=120).map(lambda c: np.array(c, np.int64))


@given(recordings, st.integers(1, 50))
def test_the_mean_and_the_median_of_the_last_readings(counts, number) -> None:
    number |= 1
    mean, median = moving_mean(counts, number), running_median(counts, number)
    for k in range(len(counts)):
        last = counts[max(0, k + 1 - number) : k + 1]
        assert mean[k] == pytest.approx(last.mean(), abs=1e-9)
        if len(last) == number:
            assert median[k] == np.median(last)


@given(recordings, st.lists(st.integers(1, 119), unique=True, max_size=5), st.integers(1, 50))
def test_the_mean_since_the_last_change(counts, changes, number) -> None:
    changes = np.array(sorted(change for change in changes if change < len(counts)), np.int64)
    mean = mean_since(counts, changes, number)
    for k in range(len(counts)):
        since = max([change for change in changes if change <= k], default=0)
        assert mean[k] == pytest.approx(counts[max(since, k + 1 - number) : k + 1].mean(), abs=1e-9)


@given(recordings, st.integers(1, 64))
def test_the_exponential_mean_is_its_difference_equation(counts, number) -> None:
    expected = [float(counts[0])]
    for one in counts[1:]:
        expected.append(expected[-1] + (one - expected[-1]) / number)
    assert exponential_mean(counts, number) == pytest.approx(expected, abs=1e-6)


@given(recordings)
def test_the_devices_filter_is_that_of_the_device(counts) -> None:
    state = new_state()
    assert DEVICE.filtered(counts).tolist() == [condition(state, one) for one in counts.tolist()]


@given(st.lists(st.tuples(st.integers(-3, 3), st.integers(1, 40)), min_size=1, max_size=8), st.integers(0, 99))
def test_at_rest_is_what_the_measuring_chain_says(steps, seed) -> None:
    """For a curve that is a straight line of 2000 counts a division, with noise of a tenth of one and a spike."""
    counts = np.concatenate([np.full(number, 3_000_000 + 1500 * step) for step, number in steps])
    counts = counts + np.rint(np.random.default_rng(seed).normal(0, 200, len(counts))).astype(np.int64)
    counts[len(counts) // 2] += 50_000
    chain = MeasuringChain()
    chain.use(RISING)
    flags = []
    for one in counts.tolist():
        chain.take(one)
        flags.append(chain.flags)
    assert EXPONENT == 18 and RISING.curve.coefficients[0] == (1 << 22 << 18) // 2000
    assert DEVICE.at_rest(counts, 1000).tolist() == [not flag & MOVING for flag in flags]


@pytest.mark.parametrize("one", ALL, ids=lambda one: one.name)
@given(recordings, recordings)
def test_no_filter_knows_the_future(one, counts, others) -> None:
    together = one.filtered(np.concatenate((counts, others)))[: len(counts)]
    assert together == pytest.approx(one.filtered(counts), abs=1e-6)


@pytest.mark.parametrize("longest", [2, 16, 32, 64])
def test_all_but_none_are_as_quiet_as_each_other(longest) -> None:
    counts = np.rint(np.random.default_rng(1).normal(0, 200, 200_000)).astype(np.int64)
    for one in filters(longest)[:-1]:
        reduction = counts.std() / one.filtered(counts)[1000:].std()
        tolerance = 0.1 if longest == 2 and "median" in one.name else 0.03  # the formula is for the median of many
        assert reduction == pytest.approx((2 * longest - 1) ** 0.5, rel=tolerance), one.name
