"""The last seconds as a chart: in each half column everything between the lowest and the highest value is drawn.

textual-plot took 7 % of a core at 80 columns and 16 % at 132, four times a second; this takes a tenth of that.
"""

from collections.abc import Sequence
from typing import ClassVar

from rich.segment import Segment
from textual.geometry import Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from scalewright.plots.ticks import Axis, axis
from scalewright.terminal.trace import Column, Trace

DOTS_ACROSS, DOTS_DOWN = 2, 4
"""Of a braille character."""
SPANS_S = (10, 30, 60, 120, 300)
_BITS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))  # of the dots of a braille character, downwards
_BRAILLE = 0x2800


def drawn(columns: Sequence[Column | None], low: float, high: float, rows: int) -> list[str]:
    """Return `rows` lines, two columns to a character, that show from where to where the values went."""
    height = rows * DOTS_DOWN
    bits = [[0] * ((len(columns) + 1) // DOTS_ACROSS) for _ in range(rows)]
    for place, (top, bottom) in enumerate(_spans(columns, low, high, height)):
        for dot in range(top, bottom + 1):
            bits[dot // DOTS_DOWN][place // DOTS_ACROSS] |= _BITS[place % DOTS_ACROSS][dot % DOTS_DOWN]
    return ["".join(map(_in_braille, row)) for row in bits]


def _spans(columns: Sequence[Column | None], low: float, high: float, height: int) -> list[tuple[int, int]]:
    """Return the first and last dot of each column from the top, reaching to its neighbour's; (0, -1) for none."""
    found = []
    before: Column | None = None
    for column in columns:
        if column is None:
            found.append((0, -1))
        else:
            highest = max(column.high, before.low) if before else column.high
            lowest = min(column.low, before.high) if before else column.low
            found.append((_dot(highest, low, high, height), _dot(lowest, low, high, height)))
        before = column
    return found


def _dot(value: float, low: float, high: float, height: int) -> int:
    """Return the dot from the top; `low` and `high` lie in the middle of the last and of the first row."""
    return round((high - value) / (high - low) * (height - DOTS_DOWN) + (DOTS_DOWN - 1) / 2)


def _in_braille(bits: int) -> str:
    return chr(_BRAILLE + bits) if bits else " "


class LiveChart(Widget):
    """Draws a trace; `span_s` of it. Its lines are made when it is shown, and handed out as they are."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"live-chart--line", "live-chart--number"}
    span_s = reactive(60)

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.trace = Trace()
        self._strips: list[Strip] = []
        self._made_for = Size()

    def show(self, trace: Trace) -> None:
        """Draw this trace as it is now."""
        self.trace = trace
        self._strips = []
        self.refresh()

    def watch_span_s(self) -> None:
        """Draw it anew."""
        self._strips = []

    on_resize = notify_style_update = watch_span_s

    def render_line(self, y: int) -> Strip:
        """Return a row: the number beside it, and what is drawn in it."""
        if not self._strips or self._made_for != self.size:  # it can be drawn in a new size before it is told of it
            self._made_for = self.size
            self._strips = self._made(self._drawn())
        return self._strips[y] if y < len(self._strips) else Strip.blank(self.size.width)

    def _made(self, lines: Sequence[tuple[str, str]]) -> list[Strip]:
        quiet = self.get_component_rich_style("live-chart--number")
        ink, ground, width = self.get_component_rich_style("live-chart--line"), self.rich_style, self.size.width
        strips = (Strip([Segment(f"{number:>9} ", quiet), Segment(line, ink)]) for number, line in lines)
        return [strip.adjust_cell_length(width, ground) for strip in strips]

    def _drawn(self) -> list[tuple[str, str]]:
        """A line of words, the chart with its numbers, and the seconds below."""
        width, height = self.size
        rows = height - 2
        columns = self.trace.columns(max(width - 11, 1) * DOTS_ACROSS, self.span_s)
        present = [column for column in columns if column is not None]
        if rows < 2 or not present:
            return [("", "the chart begins with the first reading")]
        up = _upright(present, self.trace.unit, rows)
        rows = (rows - 1) // up.intervals * up.intervals + 1  # so that each number stands on a row
        lines = drawn(columns, up.first * up.step, up.last * up.step, rows)
        unit = "g" if self.trace.unit == "g" else "counts"
        return [(unit, ""), *zip(_labels(up, rows), lines, strict=True), ("", _seconds_below(width - 11, self.span_s))]


def _upright(columns: Sequence[Column], unit: str, rows: int) -> Axis:
    low, high = min(column.low for column in columns), max(column.high for column in columns)
    if high - low < 1e-9:  # a value that rests lies in the middle
        margin = 1.0 if unit == "g" else 100.0
        low, high = low - margin, high + margin
    return axis((low, high), max(min(rows // 3, 6), 1))


def _labels(up: Axis, rows: int) -> list[str]:
    """The numbers beside the rows; `rows` is one more than a multiple of the intervals."""
    found = [""] * rows
    for k, label in enumerate(up.labels()):
        found[(up.intervals - k) * (rows - 1) // up.intervals] = label
    return found


def _seconds_below(width: int, span_s: int) -> str:
    left, right = f"{span_s} s ago", "now"
    return left + right.rjust(max(width - len(left), 4))
