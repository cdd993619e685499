"""A chart as plain text: no colour, at most 80 columns, in ASCII where a terminal knows no more."""

from collections.abc import Iterator
from itertools import pairwise

from scalewright.plots.chart import Chart, Series
from scalewright.plots.ticks import Axis, axis

COLUMNS = 79
_ROWS = 18
_LABEL = 10  # columns for the numbers of the y axis, and the axis itself
_MARGIN = 6  # for the half of the last number that stands to the right of its tick
_LEAST_ROWS_A_TICK = 3


class _Signs:
    """The characters to draw with."""

    def __init__(self, is_ascii: bool) -> None:
        self.points = "o+x*" if is_ascii else "•+○*"
        self.line = "." if is_ascii else "·"
        self.limit = "=" if is_ascii else "═"
        self.zero = "-" if is_ascii else "─"
        self.upright = "|" if is_ascii else "│"
        self.tick = "+" if is_ascii else "┼"


def render_text(chart: Chart, *, columns: int = COLUMNS, is_ascii: bool = False) -> str:
    """Return the chart as lines of text.

    Ticks stand exactly on a row or column, so that what they say is true of it.
    """
    signs = _Signs(is_ascii)
    if chart.is_empty:
        return f"{chart.title}\n(no points)"
    width = columns - _LABEL - _MARGIN
    across = _across([x for series in chart.series for x in series.x], width)
    ys = [y for series in chart.series for y in series.y]
    up = axis([*ys, *chart.limits], _ROWS // _LEAST_ROWS_A_TICK)
    canvas = _Canvas(across, width // across.intervals, up, max(_ROWS // up.intervals, 1))
    if up.first <= 0 <= up.last:
        canvas.level(0.0, signs.zero)
    for limit in chart.limits:
        canvas.level(limit, signs.limit)
    for series, sign in _with_signs(chart, signs):
        canvas.draw(series, sign)
    legend = "   ".join(f"{sign} {series.label}" for series, sign in _with_signs(chart, signs))
    legend += f"   {signs.limit} limit" if chart.limits else ""
    text = "\n".join([chart.title, chart.y_label, *canvas.lines(signs), chart.x_label.rjust(_LABEL + width), legend])
    return text.replace("°", "").encode("ascii", "replace").decode() if is_ascii else text


def _across(values: list[float], width: int) -> Axis:
    """Return the finest axis whose numbers have room below it."""
    for most in range(8, 1, -1):
        found = axis(values, most)
        if max(map(len, found.labels())) + 2 <= width // found.intervals:
            break
    return found


def _with_signs(chart: Chart, signs: _Signs) -> Iterator[tuple[Series, str]]:
    """Lines first, so that points lie on top of them."""
    points = iter(signs.points * len(chart.series))
    for series in sorted(chart.series, key=lambda series: not series.is_line):
        yield series, signs.line if series.is_line else next(points)


class _Canvas:
    """Characters on a grid between two axes."""

    def __init__(self, across: Axis, columns_a_tick: int, up: Axis, rows_a_tick: int) -> None:
        self._across, self._columns_a_tick = across, columns_a_tick
        self._up, self._rows_a_tick = up, rows_a_tick
        self._width = across.intervals * columns_a_tick + 1
        self._height = up.intervals * rows_a_tick + 1
        self._cells = [[" "] * self._width for _ in range(self._height)]

    def level(self, y: float, sign: str) -> None:
        """Draw a horizontal line."""
        row = self._row(y)
        self._cells[row] = [sign] * self._width

    def draw(self, series: Series, sign: str) -> None:
        """Draw points, or a line through them."""
        places = [(self._column(x), self._row(y)) for x, y in zip(series.x, series.y, strict=True)]
        if series.is_line:
            places = [place for start, end in pairwise(places) for place in _between(start, end)]
        for column, row in places:
            self._cells[row][column] = sign

    def lines(self, signs: _Signs) -> list[str]:
        """Return the rows from the top, with numbers on both axes."""
        labels = self._up.labels()
        found = []
        for row in range(self._height - 1, -1, -1):
            tick, between = divmod(row, self._rows_a_tick)
            label, mark = ("", signs.upright) if between else (labels[tick], signs.tick)
            found.append(f"{label:>{_LABEL - 2}} {mark}{''.join(self._cells[row])}".rstrip())
        return [*found, self._numbers_below()]

    def _numbers_below(self) -> str:
        line = [" "] * (_LABEL + self._width + _MARGIN)
        for k, label in enumerate(self._across.labels()):
            start = _LABEL + k * self._columns_a_tick - len(label) // 2
            line[start : start + len(label)] = label
        return "".join(line).rstrip()

    def _column(self, x: float) -> int:
        return round((x / self._across.step - self._across.first) * self._columns_a_tick)

    def _row(self, y: float) -> int:
        return round((y / self._up.step - self._up.first) * self._rows_a_tick)


def _between(start: tuple[int, int], end: tuple[int, int]) -> Iterator[tuple[int, int]]:
    steps = max(abs(end[0] - start[0]), abs(end[1] - start[1]), 1)
    for k in range(steps + 1):
        yield start[0] + round((end[0] - start[0]) * k / steps), start[1] + round((end[1] - start[1]) * k / steps)
