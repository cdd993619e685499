from dataclasses import replace
from decimal import Decimal

import pytest

from scalewright.link.reading import Reading
from scalewright.terminal.trace import KEPT_S, Trace
from shared_calc.reading import MOVING


def reading(time_s: float, indication_g: str | None, counts: int = 0) -> Reading:
    return Reading(0, round(time_s * 1000), counts, Decimal(indication_g) if indication_g else None, None, 0)


def trace_of(*points: tuple[float, str | None]) -> Trace:
    trace = Trace()
    for time_s, indication_g in points:
        trace.add(reading(time_s, indication_g), is_calibrated=True)
    return trace


def test_a_column_holds_the_lowest_and_the_highest_value_so_that_no_spike_is_lost() -> None:
    trace = trace_of(*((k / 80, "7.5" if k == 333 else "1") for k in range(801)))
    columns = trace.columns(20, 10.0)
    assert [(c.low, c.high) for c in columns if c] == [(1, 7.5) if k == 8 else (1, 1) for k in range(20)]


def test_a_time_without_values_is_a_column_without_any() -> None:
    columns = trace_of((0, "1"), (4, None), (10, "2")).columns(10, 10.0)
    assert [column is not None for column in columns] == [True, *[False] * 8, True]


def test_the_drift_is_the_slope_of_a_steady_rise() -> None:
    assert trace_of(*((k / 10, f"{k * 0.05:.2f}") for k in range(601))).drift_a_minute() == pytest.approx(30, rel=1e-9)


def test_a_load_that_was_moved_is_no_drift() -> None:
    trace = trace_of(*((k / 10, "0") for k in range(300)))
    trace.add(replace(reading(30, "250"), flags=MOVING), is_calibrated=True)
    for k in range(1, 301):
        trace.add(reading(30 + k / 10, "500"), is_calibrated=True)
    assert trace.drift_a_minute() == pytest.approx(0, abs=1e-9)


def test_of_a_few_seconds_no_drift_is_told() -> None:
    assert trace_of(*((k / 10, "1") for k in range(100))).drift_a_minute() is None


def test_the_rate_is_that_of_the_device_clock() -> None:
    assert trace_of(*((k / 80, "1") for k in range(801))).rate_hz() == pytest.approx(80, rel=1e-3)


def test_a_device_that_started_again_starts_a_new_trace() -> None:
    trace = trace_of((100, "1"), (101, "1"), (0.1, "2"))
    assert [column.low for column in trace.columns(4, 4.0) if column] == [2]


def test_a_scale_that_becomes_calibrated_starts_a_new_trace() -> None:
    trace = Trace()
    trace.add(reading(1, None, counts=4711), is_calibrated=False)
    assert trace.unit == "counts"
    trace.add(reading(2, "5"), is_calibrated=True)
    assert (trace.unit, [column.low for column in trace.columns(4, 4.0) if column]) == ("g", [5])


def test_what_is_older_than_is_shown_is_dropped() -> None:
    trace = trace_of(*((float(k), "1") for k in range(1000)))
    assert sum(column is not None for column in trace.columns(1000, 1000.0)) == KEPT_S
