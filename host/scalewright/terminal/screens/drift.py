"""Drift: what the daily checks and the calibrations of a scale say of it, and when it is due next."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from scalewright.equipment import RegisteredScale
from scalewright.terminal.due_words import due_lines, due_words
from scalewright.terminal.facts import cut, text_of
from scalewright.terminal.screens.listing import Line, ListScreen
from scalewright.terminal.widgets.chart_view import ChartView, key_to

if TYPE_CHECKING:
    from scalewright.plots.chart import Chart
    from scalewright.records.journal import Journal
    from scalewright.scale_history import LoadChart, ScaleHistory

    Known = tuple[ScaleHistory, list[LoadChart], list[Chart]]


class DriftScreen(ListScreen):
    """The scales, and the history of one with its charts."""

    NAME = "drift"
    HELP = """
A scale that is not what it was shows it here before it weighs wrongly. Choose a scale and press Enter; G shows its
charts one after another.

The control chart holds each daily check against what is usual for this scale (its first checks, and three standard
deviations to either side) and against what is permitted. They are different things: a check can be permitted and yet
out of the ordinary, and then something has changed. What signals is drawn as a triangle and told below in words, with
the rule that found it and what to look for. The moving average (EWMA) shows small changes that last.

Drift is what a calibration found less what the one before left. Below stands when to calibrate next, by which method:
by how the scale was found, by its drift, or at once where a check was outside its tolerance. What is proposed is to be
decided by whoever answers for the scale.
"""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("g", "next_chart", "Next chart")]
    HEADINGS = f"{'scale':14}{'due':19}place"
    FIRST_TIME = """
No scale is registered here yet, so there is no history.

Press 7 and register one. Its calibrations and daily checks are then collected here.
"""

    def compose_detail(self) -> ComposeResult:
        """A chart, and what it says."""
        yield Static(id="title", markup=False)
        yield ChartView(id="history")
        yield Static(id="known", markup=False)

    def read_lines(self, journal: "Journal") -> Sequence[Line]:
        """Return a line a scale."""
        from scalewright.records.registers import items

        scales = items(journal, RegisteredScale)
        return [
            Line(due.kept.key, Content.assemble(cut(due.kept.key, 13), " ", due_words(due), scales[due.kept.key].place))
            for due in due_lines(journal, self.bench.today())
            if due.kept.kind == "scale"
        ]

    def read_up(self, journal: "Journal", key: str) -> object:
        """Return the history of a scale, the charts of its checks, and all charts there are to draw."""
        from scalewright.plots.history import control_charts, error_chart
        from scalewright.records.history import read_history

        history = read_history(journal, key)
        charts = history.charts()
        drawn = [*(each for chart in charts for each in control_charts(chart)), *error_chart(history.calibrations)]
        return history, charts, drawn

    def show_found(self, found: object) -> None:
        """Show the first chart, and what everything says."""
        from scalewright.terminal.widgets.history_facts import facts_of

        known: Known = found  # type: ignore[assignment]
        history, charts, self._drawn = known
        self._place = 0
        self._show_chart()
        self.query_one("#known", Static).update(text_of(facts_of(history, charts)))

    def _show_chart(self) -> None:
        drawn = self._drawn
        self.set_class(not drawn, "-no-chart")
        title = self.query_one("#title", Static)
        if not drawn:
            title.update("")
            return
        chart = drawn[self._place]
        number = f"   ({self._place + 1} of {len(drawn)}, G: next)" if len(drawn) > 1 else ""
        key = (f"{number}\n{key_to(chart)}", "$secondary")
        title.update(Content.assemble((chart.title, "bold $primary"), key))
        self.query_one(ChartView).show(chart)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A next chart needs two."""
        if action == "next_chart":
            return self.found is not None and len(self._drawn) > 1
        return super().check_action(action, parameters)

    def action_next_chart(self) -> None:
        """Show the next one."""
        self._place = (self._place + 1) % len(self._drawn)
        self._show_chart()
