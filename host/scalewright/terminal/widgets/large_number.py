"""A number in digits that can be read from across the room."""

from collections.abc import Sequence

from rich.segment import Segment
from textual.geometry import Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

ROWS = 5
_GAP = 1
_INK = "█"
# A digit is 3 x 5 dots, its rows from the top, each as a number of three bits.
_DOTS = {
    "0": (7, 5, 5, 5, 7),
    "1": (2, 6, 2, 2, 7),
    "2": (7, 1, 7, 4, 7),
    "3": (7, 1, 7, 1, 7),
    "4": (5, 5, 7, 1, 1),
    "5": (7, 4, 7, 1, 7),
    "6": (7, 4, 7, 5, 7),
    "7": (7, 1, 1, 1, 1),
    "8": (7, 5, 7, 5, 7),
    "9": (7, 5, 7, 1, 7),
    "-": (0, 0, 7, 0, 0),
    "+": (0, 2, 7, 2, 0),
    " ": (0, 0, 0, 0, 0),
}
_POINT = (0, 0, 0, 0, 1)


def large(text: str, across: int, down: int, ink: str) -> list[str]:
    """Return the lines of a number in which each dot is `across` columns by `down` rows of `ink`.

    Characters that have no digits of their own are left blank.
    """
    lines = []
    for row in range(ROWS):
        parts = [_row_of(character, row, across, ink) for character in text]
        lines += [(" " * across * _GAP).join(parts)] * down
    return lines


def _row_of(character: str, row: int, across: int, ink: str) -> str:
    if character == ".":
        return (ink if _POINT[row] else " ") * across
    bits = _DOTS.get(character, _DOTS[" "])[row]
    return "".join((ink if bits >> k & 1 else " ") * across for k in (2, 1, 0))


def dots_across(text: str) -> int:
    """Return how many dots wide a number is."""
    return sum(1 if character == "." else 3 for character in text) + _GAP * max(len(text) - 1, 0)


class LargeNumber(Widget):
    """Draws `text` as large as there is room for, to the right, with `unit` beside its foot."""

    text = reactive("")
    unit = reactive("")

    _strips: Sequence[Strip] = ()
    _made_for = Size()

    def watch_text(self) -> None:
        """Draw it anew."""
        self._strips = ()

    watch_unit = on_resize = notify_style_update = watch_text

    def render_line(self, y: int) -> Strip:
        """Return a row. All of them are made at once, for this is drawn ten times a second.

        It can be drawn in a new size before it is told of it: then they are made anew.
        """
        if not self._strips or self._made_for != self.size:
            self._made_for = self.size
            style = self.rich_style
            self._strips = [Strip([Segment(line.rjust(self.size.width), style)]) for line in self._lines()]
        return self._strips[y] if y < len(self._strips) else Strip.blank(self.size.width)

    def _lines(self) -> list[str]:
        """Return every row: as large as it goes; plain letters where not even the smallest digits fit."""
        width, height = self.size
        room = width - len(self.unit) - 2
        down = max(height // ROWS, 1)
        while down and 2 * down * dots_across(self.text) > room:
            down -= 1
        if not down or height < ROWS:
            return [f"{self.text} {self.unit}", *[""] * (height - 1)]
        lines = large(self.text, 2 * down, down, _INK)
        margin = " " * (len(self.unit) + 2)
        padded = [line + margin for line in lines[:-1]] + [f"{lines[-1]}  {self.unit}"]
        above = (height - len(lines)) // 2
        return [*[""] * above, *padded, *[""] * (height - above - len(lines))]
