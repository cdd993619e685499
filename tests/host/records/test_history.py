"""The history that the journal tells, from jobs as procedures write them."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from math import sqrt
from pathlib import Path

import pytest

from scalewright.errors import InputError, RecordError
from scalewright.procedures.calibration import Calibration, CalibrationResult, NotTested
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.repeatability import RepeatabilityTest, Series
from scalewright.records.history import kept_items, read_history
from scalewright.records.journal import Journal
from scalewright.records.registers import add, change
from tests.host.records.past import HELD, LOADS, Past, limit_g, steps
from tests.host.test_equipment import BOX, PLOVER, ROOM

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
GOOD = ("0", "0.1", "0.4", "0.2", "0")


@pytest.fixture
def past(tmp_path: Path) -> Iterator[Past]:
    with Journal(tmp_path / "records.sqlite") as journal:
        add(journal, [PLOVER], "AB", "new")
        yield Past(journal)


def day(n: int) -> datetime:
    return START + timedelta(days=n)


def test_calibrations_are_read_as_they_ended(past: Past) -> None:
    first = past.calibration(day(0), ("0", "1.2", "2", "1.1", "0"), GOOD)
    second = past.calibration(day(365), ("0", "1/3", "0.7", "0.3", "0"))
    history = read_history(past.journal, "PLOVER-3")
    adjusted, tested = history.calibrations
    assert (adjusted.job, adjusted.on, adjusted.is_adjusted) == (first, date(2026, 3, 2), True)
    assert [(e.load_g, e.direction, e.error_g, e.limit_g) for e in adjusted.left] == [
        (1000, "up", 0.1, 1.0),
        (3000, "up", 0.4, 1.5),
        (1000, "down", 0.2, 1.0),
    ]
    assert [error.error_g for error in adjusted.found] == [1.2, 2.0, 1.1]
    assert (tested.job, tested.is_adjusted, tested.left) == (second, False, tested.found)
    assert tested.found[0].error_g == pytest.approx(1 / 3)
    (period,) = history.periods
    assert [drift.drift_g for drift in period.drifts] == pytest.approx([1 / 3 - 0.1, 0.3, 0.1])


def test_the_uncertainty_is_that_of_cg_18_with_what_the_entries_hold(past: Past) -> None:
    """EURAMET cg-18 v4.0, 7.1 (from memory), by hand: repeatability of pairs, masses, air buoyancy as not adjusted."""
    past.calibration(day(0), GOOD)
    (calibration,) = read_history(past.journal, "PLOVER-3").calibrations
    s_g = sqrt((0.1**2 + 0**2) / 2 / 2)  # two loads read twice: differences 0.1 at 1000 g and 0 at zero
    u_mass_g = 3000 / 200_000
    u_air_g = 0.1 * 1.2 * 3000 / 8000 / sqrt(3)
    assert calibration.found[1].u_g == pytest.approx(sqrt(s_g**2 + u_mass_g**2 + u_air_g**2), rel=1e-12)


def test_a_repeatability_test_comes_before_pairs_and_the_division_stands_in_for_neither(past: Past) -> None:
    up = tuple(replace(load, u_load_g=None) for load in LOADS[:3])
    weighings = Series(Decimal(1000), (Fraction("1000.1"), Fraction("1000.3")), limit_g(Decimal(1000)))
    plan = Calibration(HELD, as_found=(RangeCheck(up), RepeatabilityTest((up[1],), 2)))
    past.job(plan, CalibrationResult((steps(GOOD)[:3], (weighings,)), None, None), day(0), True)
    past.job(
        Calibration(HELD, as_found=(RangeCheck(up),)), CalibrationResult((steps(GOOD)[:3],), None, None), day(1), True
    )
    repeated, single = read_history(past.journal, "PLOVER-3").calibrations
    u_mass_g = 1.0 / 3 / sqrt(3)  # nobody knew: a third of the limit (OIML R 76-1:2006, 3.7.1), rectangular
    u_air_g = (0.1 * 1.2 * 1000 / 8000 + 1.0 / 3 / 4) / sqrt(3)
    u_rest_g = sqrt(u_mass_g**2 + u_air_g**2)
    assert repeated.found[0].u_g == pytest.approx(sqrt(0.2**2 / 2 + u_rest_g**2), rel=1e-12)
    assert single.found[0].u_g == pytest.approx(sqrt(2 * 1.0**2 / 12 + u_rest_g**2), rel=1e-12)


def test_a_test_that_could_not_be_carried_through_found_nothing(past: Past) -> None:
    plan = Calibration(HELD, as_found=(RangeCheck(LOADS),))
    past.job(plan, CalibrationResult((NotTested("beyond the coefficients"),), None, None), day(0), True)
    past.job(plan, CalibrationResult(None, None, None), day(1), True)
    assert read_history(past.journal, "PLOVER-3").calibrations == ()


def test_daily_checks_are_read_with_the_coefficients_they_were_made_with(past: Past) -> None:
    job = past.daily_check(day(0), "-1/8", "OLD")
    past.daily_check(day(1), "0.25", "NEW")
    first, second = read_history(past.journal, "PLOVER-3").checks
    assert (first.job, first.at, first.load_g, first.error_g, first.limit_g) == (job, day(0), 1000, -0.125, 1.0)
    assert (first.coefficients, second.coefficients) == ("OLD", "NEW")


def test_the_jobs_of_another_scale_and_those_that_did_not_end_are_not_its_history(past: Past) -> None:
    Past(past.journal, "PLOVER-33").daily_check(day(0), "0")
    Past(past.journal, "PLOVER-3-B").calibration(day(0), GOOD)
    past.journal.append("job.begun", "PLOVER-3:DailyCheck:20260302T090000Z-00000001", {"plan": {}}, day(0))
    history = read_history(past.journal, "PLOVER-3")
    assert (history.calibrations, history.checks) == ((), ())
    assert history.interval_months == 12
    with pytest.raises(InputError, match="PLOVER-9"):
        read_history(past.journal, "PLOVER-9")


@pytest.mark.parametrize("plan", ["DailyCheck", "Calibration"])
@pytest.mark.parametrize("body", [{}, {"result": 7, "device": {}}, {"result": [{"load_g": "1/0"}], "device": {}}])
def test_a_result_of_another_kind_is_named(past: Past, plan: str, body: dict[str, object]) -> None:
    entry = past.journal.append("job.ended", f"PLOVER-3:{plan}:20260302T090000Z-00000001", body, day(0))
    with pytest.raises(RecordError, match=f"entry {entry.seq} does not hold a result"):
        read_history(past.journal, "PLOVER-3")


def test_everything_registered_is_kept_with_its_last_calibration(past: Past) -> None:
    add(past.journal, [BOX, replace(BOX, key="BOX-2", certificate=None)], "AB", "new")
    add(past.journal, [ROOM, replace(ROOM, key="ROOM-2", state="retired")], "AB", "new")
    kept = {each.key: each for each in kept_items(past.journal)}
    assert set(kept) == {"PLOVER-3", "BOX-F1", "BOX-2", "ROOM-T"}
    assert (kept["PLOVER-3"].calibrated, kept["PLOVER-3"].due) == (date(2026, 2, 28), date(2027, 2, 28))
    assert (kept["BOX-F1"].kind, kept["BOX-F1"].due) == ("masses", date(2027, 3, 2))
    assert (kept["BOX-2"].calibrated, kept["BOX-2"].due) == (None, None)
    assert (kept["ROOM-T"].kind, kept["ROOM-T"].calibrated) == ("thermometer", date(2026, 3, 2))


def test_a_scale_is_due_from_its_last_calibration_and_at_once_where_that_failed(past: Past) -> None:
    past.calibration(day(10), GOOD)
    past.daily_check(day(30), "0")
    (scale,) = kept_items(past.journal)
    assert (scale.calibrated, scale.due) == (date(2026, 3, 12), date(2027, 3, 12))
    past.calibration(day(20), ("0", "1.2", "0", "0", "0"))
    (scale,) = kept_items(past.journal)
    assert (scale.calibrated, scale.due) == (date(2026, 3, 22), date(2026, 3, 22))
    assert scale.why == "its last calibration left it outside its limits"


def test_only_errors_over_the_range_are_a_calibration(past: Past) -> None:
    past.calibration(day(10), GOOD)
    weighings = Series(Decimal(1000), (Fraction(1000), Fraction(1000)), limit_g(Decimal(1000)))
    repeated = Calibration(HELD, as_found=(RepeatabilityTest((LOADS[1],), 2),))
    for n in (20, 21):
        past.job(repeated, CalibrationResult(((weighings,),), None, None), day(n), True)
    (scale,) = kept_items(past.journal)
    assert scale.calibrated == date(2026, 3, 12)
    assert [each.on for each in read_history(past.journal, "PLOVER-3").calibrations] == [date(2026, 3, 12)]


def test_a_calibration_elsewhere_after_a_failed_one_counts(past: Past) -> None:
    past.calibration(day(10), ("0", "1.2", "0", "0", "0"))
    change(past.journal, [replace(PLOVER, calibrated=date(2026, 4, 1))], "AB", "mended and calibrated by others")
    (scale,) = kept_items(past.journal)
    assert (scale.calibrated, scale.due, scale.why) == (date(2026, 4, 1), date(2027, 4, 1), "")
