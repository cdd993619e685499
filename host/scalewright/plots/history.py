"""Charts of a scale's history: daily checks within their control limits, errors from calibration to calibration.

A tolerance far outside the control limits would flatten the chart, so it is drawn only where it is near.
"""

from collections.abc import Sequence

from scalewright.analysis.as_found_drift import DAYS_A_YEAR, is_same_load
from scalewright.analysis.control_chart import EWMA, ControlChart
from scalewright.plots.chart import Chart, Series
from scalewright.scale_history import LoadChart, PastCalibration

SHOWN_CHECKS = 100
_NEAR = 3.0  # a limit within so many times the rest is drawn


def control_charts(load_chart: LoadChart, last: int = SHOWN_CHECKS) -> list[Chart]:
    """Return the chart of single checks and that of their average, of the last ones; none where there is none yet."""
    chart = load_chart.chart
    if chart is None:
        return []
    numbers = list(range(1, len(chart.values) + 1))[-last:]
    at = f"{load_chart.load_g:g} g"
    return [
        _drawn(f"Daily checks at {at}", numbers, chart, "checks", chart.values, chart.limits),
        _drawn(f"Moving average (EWMA) at {at}", numbers, chart, EWMA, chart.averages, None),
    ]


def _drawn(
    title: str,
    numbers: list[int],
    chart: ControlChart,
    name: str,
    values: Sequence[float],
    fixed: tuple[float, float] | None,
) -> Chart:
    """Draw values within fixed limits, or within those of the average; what signals is marked."""
    signalled = {i for signal in chart.signals if (signal.rule == EWMA) == (fixed is None) for i in signal.points}
    usual, unusual = ([n for n in numbers if (n - 1 in signalled) == wanted] for wanted in (False, True))
    series = [Series("control limits", *_box(numbers, chart, fixed), is_line=True)]
    if usual:
        series.append(Series(name, usual, [values[n - 1] for n in usual]))
    if unusual:
        series.append(Series("signal", unusual, [values[n - 1] for n in unusual]))
    highest = max(abs(y) for part in series for y in part.y)
    near = chart.tolerance is not None and chart.tolerance <= _NEAR * highest and fixed is not None
    limits = (-chart.tolerance, chart.tolerance) if near and chart.tolerance is not None else ()
    return Chart(title, "check", "error / g", tuple(series), limits)


def _box(numbers: list[int], chart: ControlChart, fixed: tuple[float, float] | None) -> tuple[list[float], list[float]]:
    """Return one line round the lower and the upper limit."""
    if fixed:
        lower, upper = ([end] * len(numbers) for end in fixed)
    else:
        lower, upper = ([chart.base.mean + side * chart.half_widths[n - 1] for n in numbers] for side in (-1, 1))
    x = [float(n) for n in (*numbers, *reversed(numbers), numbers[0])]
    return x, [*lower, *reversed(upper), lower[0]]


def error_chart(calibrations: Sequence[PastCalibration]) -> list[Chart]:
    """Return the errors over the years at the load that was ever farthest towards its limit; none without limits."""
    known = [error for past in calibrations for error in (*past.found, *past.left) if error.limit_g]
    if not known:
        return []
    worst = max(known, key=lambda error: abs(error.error_g) / (error.limit_g or 1.0))
    series = []
    for label, state in (("as found", "found"), ("as left", "left")):
        points = [
            (_year(calibration), error.error_g)
            for calibration in calibrations
            for error in getattr(calibration, state)
            if error.direction == worst.direction and is_same_load(error.load_g, worst.load_g)
        ]
        if points:
            series.append(Series(label, [x for x, _ in points], [y for _, y in points]))
    limit_g = worst.limit_g or 0.0
    title = f"Error at {worst.load_g:g} g {worst.direction}".rstrip() + ", from calibration to calibration"
    return [Chart(title, "year", "error / g", tuple(series), (-limit_g, limit_g))]


def _year(calibration: PastCalibration) -> float:
    return calibration.on.year + (calibration.on.timetuple().tm_yday - 1) / DAYS_A_YEAR
