"""Errors of indication against load, between the marks of what is allowed."""

from collections.abc import Sequence

from textual_plot import PlotWidget

from scalewright.procedures.outcomes import Outcome
from scalewright.terminal.progress import Progress

UP, DOWN = "▲", "▽"
"""Marks of an error at a load that was reached from below, and from above."""


class ErrorPlot(PlotWidget):
    """Draws the errors of the part that is under way, or of the last one that has any."""

    can_focus = False

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, allow_pan_and_zoom=False)
        self._drawn: Sequence[Outcome] = ()

    def on_mount(self) -> None:
        """Leave as much room to the plot as there is."""
        super().on_mount()
        self.margin_top, self.margin_bottom, self.margin_left = 1, 2, 8

    def show(self, progress: Progress) -> None:
        """Draw what there is; nothing where it is drawn already."""
        at_loads = [outcome for outcome in progress.outcomes if outcome.load_g is not None]
        drawn = [outcome for outcome in at_loads if outcome.stage == at_loads[-1].stage]
        if drawn != self._drawn:
            self._drawn = drawn
            self._draw(drawn)
            self.call_after_refresh(self.refresh)  # its canvases have their sizes only then

    def _draw(self, outcomes: Sequence[Outcome]) -> None:
        self.clear()
        loads = [float(outcome.load_g or 0) for outcome in outcomes]
        for sign in (1, -1):  # no line joins them: between two loads the limit may jump
            limits = [sign * float(outcome.limit) for outcome in outcomes]
            self.scatter(loads, limits, marker="━", marker_style=self._ink("accent"))
        for marker, is_down in ((UP, False), (DOWN, True)):
            drawn = [outcome for outcome in outcomes if outcome.what.endswith(", down") == is_down]
            x, y = [float(outcome.load_g or 0) for outcome in drawn], [float(outcome.value) for outcome in drawn]
            self.scatter(x, y, marker=marker, marker_style=f"bold {self._ink('primary')}")
        self.set_xlabel(f"load, g    {UP} up   {DOWN} down   ━ allowed")
        self.set_ylabel("error, g")

    def _ink(self, name: str) -> str:
        theme = self.app.current_theme
        return str(getattr(theme, name))
