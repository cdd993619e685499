"""Intervals by stated rules; the day a limit is reached against a root finder of scipy."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from scalewright.analysis.as_found_drift import DAYS_A_YEAR, ErrorAtLoad, Rate
from scalewright.analysis.recalibration_interval import (
    DRIFT,
    IN_SERVICE,
    STAIRCASE,
    IntervalRules,
    by_drift,
    days_to_limit,
    earliest,
    failed_check,
    first_interval,
    staircase,
)
from scalewright.equipment import months_later
from scalewright.errors import InputError

RULES = IntervalRules()
DONE = date(2026, 3, 31)
BEFORE = date(2025, 3, 31)
LIMIT_G = 1.5
days = st.dates(date(1990, 1, 1), date(2090, 1, 1))


def found(share: float) -> ErrorAtLoad:
    return ErrorAtLoad(2000, share * LIMIT_G, 0.1, LIMIT_G)


@given(days, st.integers(0, 400))
def test_months_are_those_of_the_calendar(day: date, months: int) -> None:
    """As dateutil adds them: 31 January and one month is the last of February."""
    assert months_later(day, months) == day + relativedelta(months=months)


def test_the_first_interval_is_the_one_agreed() -> None:
    proposal = first_interval(DONE, 6, RULES)
    assert (proposal.due, proposal.method) == (date(2026, 9, 30), STAIRCASE)
    assert "the first interval, 6 months" in proposal.reason
    assert first_interval(DONE, 60, RULES).due == date(2029, 3, 31)


@pytest.mark.parametrize(
    ("share", "months", "why"),
    [
        (0.0, 18, "within 80% of it, so one step longer: 18 months"),
        (0.8, 18, "80% of its limit (at 2000 g), within 80% of it"),
        (0.81, 12, "between 80% and all of it, so the same interval: 12 months"),
        (-1.0, 12, "100% of its limit"),
        (-1.01, 9, "outside it, so one step shorter: 9 months"),
    ],
)
def test_the_staircase_goes_by_how_the_scale_was_found(share: float, months: int, why: str) -> None:
    """ILAC-G24:2022 / OIML D 10:2022, 6.2 (from memory): longer within, say, 80 % of the limit; shorter outside."""
    proposal = staircase(BEFORE, DONE, 12, [found(0.1), found(share)], RULES)
    assert (proposal.due, proposal.method) == (months_later(DONE, months), STAIRCASE)
    assert why in proposal.reason


def test_an_interval_that_was_cut_short_does_not_grow() -> None:
    early = staircase(DONE - timedelta(days=100), DONE, 12, [found(0.1)], RULES)
    assert early.due == months_later(DONE, 12) and "cut short" in early.reason
    assert staircase(DONE - timedelta(days=100), DONE, 12, [found(1.2)], RULES).due == months_later(DONE, 9)


@given(st.integers(1, 60), st.floats(0, 3), st.floats(0, 3))
def test_a_worse_error_never_gives_a_later_day(interval: int, share: float, worse: float) -> None:
    better, later = sorted((share, worse))
    due = [staircase(BEFORE, DONE, interval, [found(s)], RULES).due for s in (better, later)]
    assert due[0] >= due[1]
    shortest, longest = (months_later(DONE, RULES.ladder_months[end]) for end in (0, -1))
    assert shortest <= due[1] and due[0] <= longest


def test_the_ladder_ends_where_it_ends() -> None:
    assert [RULES.longer(months) for months in (1, 12, 13, 36, 48)] == [2, 18, 18, 36, 36]
    assert [RULES.shorter(months) for months in (48, 36, 13, 2, 1)] == [36, 24, 12, 1, 1]


@pytest.mark.parametrize(
    "wrong",
    [{"ladder_months": ()}, {"ladder_months": (0, 6)}, {"ladder_months": (6, 3)}, {"lengthen_within": 1.2}],
)
def test_rules_that_cannot_be_are_bad_input(wrong: dict[str, object]) -> None:
    with pytest.raises(InputError, match="expected"):
        IntervalRules(**wrong)  # type: ignore[arg-type]


def test_without_a_limit_there_is_no_staircase_and_no_day() -> None:
    with pytest.raises(InputError, match="no error as found has a limit"):
        staircase(BEFORE, DONE, 12, [ErrorAtLoad(100, 0.1, 0.1)], RULES)
    assert by_drift(DONE, [(ErrorAtLoad(100, 0.1, 0.1), Rate(1, 1, 1))], RULES) is None


@given(st.floats(-1.4, 1.4), st.floats(0.01, 0.3), st.floats(-2, 2), st.floats(0.001, 1))
def test_the_day_is_where_drift_and_uncertainty_reach_the_limit(e: float, u: float, rate: float, u_rate: float) -> None:
    """Against scipy's brentq on |e + r t| + 2 sqrt(u2 + (u_r t)2) - limit, stepped through by the day."""

    def beyond(day: float) -> float:
        t = day / DAYS_A_YEAR
        return abs(e + rate * t) + 2 * (u**2 + (u_rate * t) ** 2) ** 0.5 - LIMIT_G

    assume(beyond(0) < -1e-6)
    ours = days_to_limit(ErrorAtLoad(2000, e, u, LIMIT_G), Rate(rate, u_rate, 3))
    steps = [day for day in range(0, 36526, 25) if beyond(day) >= 0]
    if steps and steps[0]:
        root = brentq(beyond, steps[0] - 25, steps[0])
        assert ours == pytest.approx(root, abs=1.001) and ours <= root + 1e-6
    elif not steps:
        assert ours > 36500


@given(st.floats(0, 1), st.floats(0.05, 0.2), st.floats(0, 1), st.floats(0, 0.5), st.floats(0, 1))
def test_a_faster_or_less_certain_drift_never_gives_a_later_day(
    e: float, u: float, rate: float, u_rate: float, more: float
) -> None:
    left = ErrorAtLoad(2000, e, u, LIMIT_G)
    plain = days_to_limit(left, Rate(rate, u_rate, 1))
    assert days_to_limit(left, Rate(rate + more, u_rate, 1)) <= plain
    assert days_to_limit(left, Rate(rate, u_rate + more, 1)) <= plain
    assert days_to_limit(ErrorAtLoad(2000, e, u + more, LIMIT_G), Rate(rate, u_rate, 1)) <= plain


def test_the_first_load_to_reach_its_limit_decides_within_the_ladder() -> None:
    left = ErrorAtLoad(2000, 0.0, 0.05, LIMIT_G)
    slow, fast = Rate(0.1, 0.01, 2), Rate(1.0, 0.05, 2)
    proposal = by_drift(DONE, [(left, slow), (ErrorAtLoad(3000, 0.0, 0.05, LIMIT_G), fast)], RULES)
    assert proposal is not None and proposal.method == DRIFT
    years = (proposal.due - DONE).days / DAYS_A_YEAR
    assert years + 2 * (0.05**2 + (0.05 * years) ** 2) ** 0.5 == pytest.approx(LIMIT_G, abs=1.1 / DAYS_A_YEAR)
    assert "+1 g a year at 3000 g (U = 0.1 g a year, k = 2): drift and uncertainty reach the limit" in proposal.reason
    assert by_drift(DONE, [(left, slow)], RULES).due == months_later(DONE, 36)  # type: ignore[union-attr]
    hasty = by_drift(DONE, [(left, Rate(100.0, 1.0, 2))], RULES)
    assert hasty is not None and hasty.due == months_later(DONE, 1) and "repair it" in hasty.reason


def test_an_error_that_uncertainty_takes_to_the_limit_is_due_at_once() -> None:
    assert days_to_limit(ErrorAtLoad(2000, 1.45, 0.05, LIMIT_G), Rate(0.0, 0.0, 1)) == 0
    assert days_to_limit(ErrorAtLoad(2000, 1.6, 0.05, LIMIT_G), Rate(-1.0, 0.0, 1)) == 0
    assert days_to_limit(ErrorAtLoad(2000, 0.0, 0.05, LIMIT_G), Rate(0.0, 0.0, 1)) == 36525


def test_a_failed_check_comes_before_everything_else() -> None:
    checked = date(2026, 5, 4)
    proposal = earliest([first_interval(DONE, 12, RULES), failed_check(checked)])
    assert (proposal.due, proposal.method) == (checked, IN_SERVICE)
