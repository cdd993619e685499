"""The history of an invented scale: what drifted, what its checks say, what is in doubt, and when it is due."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.analysis.as_found_drift import ErrorAtLoad
from scalewright.analysis.control_chart import stated_base_line
from scalewright.analysis.recalibration_interval import DRIFT, IN_SERVICE, STAIRCASE
from scalewright.scale_history import PastCalibration, PastCheck, ScaleHistory

START = datetime(2023, 3, 1, 12, tzinfo=UTC)
LIMITS = {1000.0: 1.0, 2000.0: 1.5}


def day(n: int) -> datetime:
    return START + timedelta(days=n)


def errors(at_1000: float, at_2000: float) -> tuple[ErrorAtLoad, ...]:
    pairs = zip(LIMITS.items(), (at_1000, at_2000), strict=True)
    return tuple(ErrorAtLoad(load, error, 0.05, limit, "up") for (load, limit), error in pairs)


def calibration(n: int, found: tuple[float, float], left: tuple[float, float] | None = None) -> PastCalibration:
    return PastCalibration(f"job-{n}", day(n), errors(*found), errors(*(left or found)), left is not None)


def check(n: int, error_g: float, load_g: float = 1000.0, coefficients: str = "a") -> PastCheck:
    return PastCheck(f"check-{n}", day(n), load_g, error_g, LIMITS[load_g], coefficients)


YEARS = (calibration(0, (0.9, 1.4), (0.0, 0.0)), calibration(365, (0.2, 0.4)), calibration(730, (0.4, 0.8)))


def test_drift_is_from_as_left_to_as_found_and_its_rate_from_all_periods() -> None:
    history = ScaleHistory(YEARS, ())
    assert [[drift.drift_g for drift in period.drifts] for period in history.periods] == [
        pytest.approx([0.2, 0.4]),
        pytest.approx([0.2, 0.4]),
    ]
    (at_1000, rate_1000), (at_2000, rate_2000) = history.rates
    assert (at_1000.error_g, at_2000.error_g) == (0.4, 0.8)
    assert rate_1000.per_year_g == pytest.approx(0.2, rel=1e-3) and rate_1000.is_significant
    assert rate_2000.per_year_g == pytest.approx(0.4, rel=1e-3) and rate_2000.drifts == 2


def test_the_earliest_of_the_proposals_holds() -> None:
    history = ScaleHistory(YEARS, (), interval_months=12)
    by_method = {proposal.method: proposal.due for proposal in history.proposals}
    assert by_method[STAIRCASE] == date(2026, 8, 28)  # 28 February 2025 and 18 months: 0.8 g is 53 % of 1.5 g
    # By hand: 0.8 + 0.4 t + 2 sqrt(0.05^2 + (0.05 t)^2) = 1.5, so 0.15 t^2 - 0.56 t + 0.48 = 0 and t = 4/3 of 365 days.
    assert by_method[DRIFT] == date(2025, 2, 28) + timedelta(days=486)
    assert history.proposal is not None and history.proposal.method == DRIFT


def test_a_first_calibration_gives_the_first_interval_and_none_gives_nothing() -> None:
    (only,) = ScaleHistory(YEARS[:1], ()).proposals
    assert (only.due, only.method) == (date(2024, 3, 1), STAIRCASE)
    assert ScaleHistory(YEARS[:1], (), interval_months=6).proposals[0].due == date(2023, 9, 1)
    assert ScaleHistory((), ()).proposals == [] and ScaleHistory((), ()).proposal is None
    assert ScaleHistory((), ()).rates == [] and ScaleHistory((), ()).charts() == []


def test_two_calibrations_on_one_day_have_no_drift_between_them() -> None:
    twice = (YEARS[0], calibration(0, (0.0, 0.0)), YEARS[1])
    (period,) = ScaleHistory(twice, ()).periods
    assert period.before is twice[1]


def test_a_failed_check_is_due_at_once_until_it_is_repeated_and_passes() -> None:
    bad, good = check(740, 1.2), check(741, 0.1)
    assert ScaleHistory(YEARS, (bad,)).proposal.method == IN_SERVICE  # type: ignore[union-attr]
    assert ScaleHistory(YEARS, (bad, good)).proposal.method != IN_SERVICE  # type: ignore[union-attr]
    before = check(729, 1.2)
    assert ScaleHistory(YEARS, (before,)).proposal.method != IN_SERVICE  # type: ignore[union-attr]


def test_found_out_of_tolerance_everything_since_the_last_good_check_at_that_load_is_in_doubt() -> None:
    found_bad = (calibration(0, (0.0, 0.0)), calibration(300, (0.9, 1.6), (0.0, 0.0)))
    checks = (check(100, 0.1, 2000.0), check(200, 1.4, 1000.0), check(299, 0.2, 1000.0))
    (period,) = ScaleHistory(found_bad, checks).periods
    assert period.doubt.startswith("found out of tolerance on 2023-12-26: +1.6 g at 2000 g, limit 1.5 g.")
    assert "since the last good check at that load, 2023-06-09, is in doubt" in period.doubt
    (period,) = ScaleHistory(found_bad, checks[1:]).periods
    assert "since the calibration before, 2023-03-01, is in doubt" in period.doubt
    assert [period.doubt for period in ScaleHistory(YEARS, checks).periods] == ["", ""]


def test_each_load_has_its_chart_and_new_coefficients_begin_a_new_one() -> None:
    old = [check(n, 0.5, coefficients="old") for n in range(30)]
    new = [check(30 + n, 0.01 * (n % 3), load) for n in range(25) for load in (2000.0, 1000.0)]
    charts = ScaleHistory((), (*old, *new)).charts()
    assert [(chart.load_g, len(chart.checks)) for chart in charts] == [(1000.0, 25), (2000.0, 25)]
    assert charts[0].chart is not None and charts[0].chart.base.source == "first 20 checks"
    assert charts[0].chart.tolerance == 1.0
    assert [len(chart.checks) for chart in ScaleHistory((), tuple(old)).charts()] == [30]


def test_a_chart_waits_for_enough_checks_that_scatter_unless_its_base_line_is_stated() -> None:
    few = tuple(check(n, 0.1 * n) for n in range(4))
    assert ScaleHistory((), few).charts()[0].chart is None
    assert ScaleHistory((), few).charts(base=stated_base_line(0, 0.1))[0].chart is not None
    equal = tuple(check(n, 0.1) for n in range(10))
    assert ScaleHistory((), equal).charts()[0].chart is None


@given(st.lists(st.tuples(st.integers(0, 2000), st.floats(-2, 2), st.floats(-2, 2)), min_size=1, max_size=6))
def test_whatever_was_found_there_is_a_proposal_within_the_longest_interval(
    found: list[tuple[int, float, float]],
) -> None:
    calibrations = tuple(calibration(n, (a, b)) for n, a, b in sorted(found))
    proposal = ScaleHistory(calibrations, ()).proposal
    assert proposal is not None
    assert calibrations[-1].on < proposal.due <= calibrations[-1].on + timedelta(days=3 * 366)
