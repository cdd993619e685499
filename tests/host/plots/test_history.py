"""Charts of an invented scale's history hold every check once and mark what is out of the ordinary."""

from datetime import UTC, datetime, timedelta

from scalewright.analysis.as_found_drift import ErrorAtLoad
from scalewright.analysis.control_chart import stated_base_line
from scalewright.plots.chart import Chart
from scalewright.plots.history import control_charts, error_chart
from scalewright.plots.text import render_text
from scalewright.scale_history import LoadChart, PastCalibration, PastCheck, ScaleHistory

START = datetime(2026, 1, 1, 8, tzinfo=UTC)


def load_chart(errors_g: list[float], limit_g: float | None = 1.0) -> LoadChart:
    checks = [PastCheck(str(n), START + timedelta(days=n), 1000.0, e, limit_g) for n, e in enumerate(errors_g)]
    (chart,) = ScaleHistory((), tuple(checks)).charts(base=stated_base_line(0.0, 0.2))
    return chart


def points(chart: Chart) -> dict[str, list[float]]:
    return {series.label: list(series.x) for series in chart.series if not series.is_line}


def test_every_check_is_drawn_once_and_a_signal_is_marked() -> None:
    single, average = control_charts(load_chart([0.0, 0.1, 0.9, 0.0]))
    assert points(single) == {"checks": [1, 2, 4], "signal": [3]}
    assert points(average) == {"EWMA": [1, 2, 4], "signal": [3]}
    assert single.series[0].y == [-3 * 0.2] * 4 + [3 * 0.2] * 4 + [-3 * 0.2]


def test_the_tolerance_is_drawn_where_it_is_near_and_never_over_the_average() -> None:
    single, average = control_charts(load_chart([0.0, 0.1]))
    assert (single.limits, average.limits) == ((-1.0, 1.0), ())
    assert control_charts(load_chart([0.0, 0.1], limit_g=5.0))[0].limits == ()
    assert control_charts(load_chart([0.0, 0.1], limit_g=None))[0].limits == ()


def test_of_many_checks_the_last_are_drawn_under_their_own_numbers() -> None:
    single, _ = control_charts(load_chart([0.0, 0.1] * 80), last=50)
    assert points(single)["checks"] == list(range(111, 161))
    assert "control limits" in render_text(single)


def test_without_a_base_line_there_is_no_chart() -> None:
    checks = (PastCheck("1", START, 1000.0, 0.0, 1.0),)
    assert control_charts(ScaleHistory((), checks).charts()[0]) == []


def calibration(year: int, found_g: tuple[float, float], left_g: tuple[float, float]) -> PastCalibration:
    states = [
        tuple(ErrorAtLoad(load, error, 0.1, 1.5, "up") for load, error in zip((1000.0, 3000.0), state, strict=True))
        for state in (found_g, left_g)
    ]
    return PastCalibration(str(year), datetime(year, 7, 2, tzinfo=UTC), states[0], states[1], True)


def test_the_error_is_drawn_at_the_load_that_was_ever_worst() -> None:
    (chart,) = error_chart([calibration(2024, (0.3, 1.4), (0.0, 0.1)), calibration(2025, (0.2, 0.9), (0.2, 0.0))])
    assert chart.title == "Error at 3000 g up, from calibration to calibration"
    assert {series.label: series.y for series in chart.series} == {"as found": [1.4, 0.9], "as left": [0.1, 0.0]}
    assert [round(x, 2) for x in chart.series[0].x] == [2024.5, 2025.5]  # 2 July is the middle of the year
    assert chart.limits == (-1.5, 1.5)
    assert error_chart([]) == []
