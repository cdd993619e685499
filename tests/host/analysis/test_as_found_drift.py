"""Drift with its uncertainty against JCGM 100 and other libraries."""

from datetime import date

import numpy
import pytest
import statsmodels.api
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from scalewright.analysis.as_found_drift import DAYS_A_YEAR, Drift, ErrorAtLoad, as_found_drift, drift_rate
from scalewright.errors import InputError

YEAR = round(DAYS_A_YEAR)
small = st.floats(-5, 5)
uncertainty = st.floats(0.01, 1)


def error(error_g: float, u_g: float = 0.1, load_g: float = 1000, direction: str = "up") -> ErrorAtLoad:
    return ErrorAtLoad(load_g, error_g, u_g, 1.5, direction)


def test_a_year_is_the_mean_year_of_the_calendar() -> None:
    """The Gregorian calendar repeats after 400 years."""
    assert (date(2400, 1, 1) - date(2000, 1, 1)).days / 400 == DAYS_A_YEAR


def test_the_en_number() -> None:
    """10.3 and 10.0 with U = 0.3 and 0.2 (k = 2): 0.3 / sqrt(0.13) = 0.83205, by ISO/IEC 17043:2010, B.3.1.3."""
    (drift,) = as_found_drift([error(10.0, 0.1)], [error(10.3, 0.15)], YEAR)
    assert f"{drift.en:.5f}" == "0.83205"
    assert not drift.is_significant
    (drift,) = as_found_drift([error(10.0, 0.1)], [error(9.6, 0.15)], YEAR)
    assert f"{drift.en:.4f}" == "-1.1094" and drift.is_significant


@given(small, small, uncertainty, uncertainty, st.floats(0.01, 0.9))
def test_what_both_calibrations_share_cancels(a: float, b: float, u_a: float, u_b: float, part: float) -> None:
    """JCGM 100:2008, 5.2.2, as the library uncertainties propagates it from independent parts."""
    shared = part * min(u_a, u_b)
    common = ufloat(0, shared)
    left = a + common + ufloat(0, (u_a**2 - shared**2) ** 0.5)
    found = b + common + ufloat(0, (u_b**2 - shared**2) ** 0.5)
    (drift,) = as_found_drift([error(a, u_a)], [error(b, u_b)], 730, shared / 1000)
    assert drift.drift_g == pytest.approx((found - left).nominal_value)
    assert drift.u_drift_g == pytest.approx((found - left).std_dev, rel=1e-9)
    assert drift.per_year_g == pytest.approx((b - a) * 365.2425 / 730)


def test_loads_are_matched_by_direction_and_the_nearest_is_taken() -> None:
    left = [error(0.1, load_g=500), error(0.2, load_g=1000), error(0.3, load_g=1000, direction="down")]
    found = [error(0.5, load_g=1000.02), error(0.7, load_g=1000.02, direction="down"), error(0.9, load_g=2000)]
    pairs = [(drift.left.error_g, drift.found.error_g) for drift in as_found_drift(left, found, YEAR)]
    assert pairs == [(0.2, 0.5), (0.3, 0.7)]


def test_what_is_no_history_is_bad_input() -> None:
    with pytest.raises(InputError, match="0 days between"):
        as_found_drift([error(0)], [error(0)], 0)
    with pytest.raises(InputError, match=r"shared uncertainty 0.1 g at 1000 g"):
        as_found_drift([error(0)], [error(0)], YEAR, 1e-4)
    with pytest.raises(InputError, match="u = 0 g; expected above 0"):
        error(0, 0)
    with pytest.raises(InputError, match="no drift"):
        drift_rate([])


@given(st.lists(st.tuples(small, uncertainty, st.integers(30, 2000)), min_size=1, max_size=8))
def test_the_rate_is_weighted_least_squares_through_zero(history: list[tuple[float, float, int]]) -> None:
    """statsmodels WLS without a constant, covariance as the weights say; then scaled by the Birge ratio if above 1."""
    drifts = [Drift(error(0, u), error(d, u), days / DAYS_A_YEAR, 0.0) for d, u, days in history]
    years, changes = numpy.array([d.years for d in drifts]), numpy.array([d.drift_g for d in drifts])
    weights = numpy.array([d.u_drift_g for d in drifts]) ** -2.0
    fit = statsmodels.api.WLS(changes, years, weights).fit(cov_type="fixed scale")
    rate = drift_rate(drifts)
    spread = (weights * (changes - fit.params[0] * years) ** 2).sum() / max(len(drifts) - 1, 1)
    widened = max(spread, 1) ** 0.5 if len(drifts) > 1 else 1
    assert rate.per_year_g == pytest.approx(fit.params[0], rel=1e-9, abs=1e-12)
    assert rate.u_per_year_g == pytest.approx(fit.bse[0] * widened, rel=1e-6)
    assert rate.drifts == len(drifts)


def test_a_steady_drift_is_significant_and_a_wandering_one_is_not() -> None:
    steady = drift_rate([Drift(error(0), error(0.5), 1.0, 0.0)] * 3)
    assert steady.per_year_g == pytest.approx(0.5) and steady.is_significant
    wandering = drift_rate([Drift(error(0), error(change), 1.0, 0.0) for change in (1.0, -0.8, 0.7)])
    assert not wandering.is_significant


def test_within_its_tolerance_or_not() -> None:
    assert error(1.5).is_within and not error(-1.6).is_within
    assert ErrorAtLoad(1000, 99, 0.1).is_within
