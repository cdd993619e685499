"""A chart of the history as a plot of signs: each kind of point has its own, so that nothing hangs on colour."""

from collections.abc import Sequence

from textual_plot import HiResMode, NumericAxisFormatter, PlotWidget

from scalewright.plots.chart import Chart, Series

_SIGNS = ("●", "▲", "■")
"""of the first kind of points, of what signals or the second kind, of a third"""
_ROOM = 0.06
"""of what is shown, beyond its ends"""


class _Numbers(NumericAxisFormatter):
    """Zero has no sign."""

    def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
        labels = super().get_labels_for_ticks(ticks)
        return [label if label.strip("-0.") else label.lstrip("-") for label in labels]


class ChartView(PlotWidget):
    """Draws lines and limits as lines, and points as signs."""

    can_focus = False

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, allow_pan_and_zoom=False)

    def on_mount(self) -> None:
        """Leave as much room to the plot as there is."""
        super().on_mount()
        self.set_y_formatter(_Numbers())
        self.margin_top, self.margin_bottom, self.margin_left = 1, 1, 9

    def on_resize(self) -> None:
        """Draw it anew, once the parts of the plot have their sizes too."""
        self.call_after_refresh(self.refresh, layout=True)

    def show(self, chart: Chart) -> None:
        """Draw it."""
        self.clear()
        theme = self.app.current_theme
        xs = [x for series in chart.series for x in series.x]
        for limit in chart.limits:
            self.plot([min(xs), max(xs)], [limit] * 2, line_style=str(theme.accent), hires_mode=HiResMode.BRAILLE)
        for series in chart.series:
            if series.is_line:
                self._line(series, str(theme.secondary))
        inks = (theme.primary, theme.error, theme.secondary)
        for series, sign, ink in zip(points_of(chart), _SIGNS, inks, strict=False):
            self.scatter(list(series.x), list(series.y), marker=sign, marker_style=f"bold {ink}")
        self.set_ylabel(chart.y_label)
        self.set_xlimits(*_with_room(xs))
        self.set_ylimits(*_with_room([*chart.limits, *(y for series in chart.series for y in series.y)]))
        self.on_resize()

    def _line(self, series: Series, ink: str) -> None:
        self.plot(list(series.x), list(series.y), line_style=ink, hires_mode=HiResMode.BRAILLE)


def _with_room(values: Sequence[float]) -> tuple[float, float]:
    """Return from where to where an axis goes, so that no point lies on its end."""
    low, high = min(values), max(values)
    room = (high - low) * _ROOM or 0.5
    return low - room, high + room


def points_of(chart: Chart) -> list[Series]:
    """Return what is drawn as points."""
    return [series for series in chart.series if not series.is_line]


def key_to(chart: Chart) -> str:
    """Return what the signs and lines stand for."""
    signs = [f"{sign} {series.label}" for sign, series in zip(_SIGNS, points_of(chart), strict=False)]
    lines = [f"── {series.label}" for series in chart.series if series.is_line]
    limits = ["── tolerance"] if chart.limits else []
    return "   ".join([*signs, *lines, *limits])
