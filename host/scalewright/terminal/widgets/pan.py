"""The pan from above, and where on it the load belongs."""

from textual.content import Content
from textual.widgets import Static

from scalewright.procedures.requests import PlaceLoad, Request

COLUMNS, ROWS = 17, 5
"""Odd, so that there is a middle; a character is about twice as high as it is wide."""


def drawn_pan(load: PlaceLoad | None) -> list[str]:
    """Return the lines of the pan, with a block where the load belongs; empty where none is to lie on it."""
    inner = [[" "] * COLUMNS for _ in range(ROWS)]
    if load is not None and (load.load_g or load.added_g):
        column = round((float(load.at.x) + 1) / 2 * (COLUMNS - 3)) + 1
        row = round((1 - float(load.at.y)) / 2 * (ROWS - 1))
        for beside in (-1, 0, 1):
            inner[row][column + beside] = "█"
    edge = "─" * COLUMNS
    front = " front ".center(COLUMNS, "─")
    return [f"┌{edge}┐", *(f"│{''.join(row)}│" for row in inner), f"└{front}┘"]


class Pan(Static):
    """Draws where a load belongs."""

    def show(self, request: Request | None) -> None:
        """Draw the load that is to be placed; the last one stays where nothing is to be placed now."""
        if isinstance(request, PlaceLoad):
            self.update(Content("\n".join(drawn_pan(request))))
