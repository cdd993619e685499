"""When something is due, in words and a sign; the colour only helps."""

from datetime import date
from typing import TYPE_CHECKING

from textual.content import Content

from scalewright.due_list import FINE, NO_DATE, OVERDUE, SOON, Due, due_list

if TYPE_CHECKING:
    from scalewright.records.journal import Journal

_STYLES = {OVERDUE: "bold $error", SOON: "bold $accent", NO_DATE: "$accent", FINE: "$foreground"}
WIDTH = 19


def due_lines(journal: "Journal", today: date) -> list[Due]:
    """Return everything that is registered and in use, the most urgent first. Runs in a thread."""
    from scalewright.records.history import kept_items

    return due_list(kept_items(journal), today)


def due_words(due: Due | None) -> Content:
    """Return how many days are left, WIDTH wide."""
    text, style = ("", "") if due is None else (_words(due), _STYLES[due.state])
    return Content.styled(f"{text:{WIDTH}}", style)


def _words(due: Due) -> str:
    if due.days is None:
        return "? no due date"
    days = f"{abs(due.days)} day" + ("" if abs(due.days) == 1 else "s")
    if due.state == OVERDUE:
        return f"! OVERDUE {days}"
    if due.days == 0:
        return "! due today"
    return f"! in {days}" if due.state == SOON else f"  in {days}"


def due_table(lines: list[Due], today: date) -> Content:
    """Return the due list as a text."""
    if not lines:
        return Content("Nothing is registered yet.")
    rows = [Content.styled(f"on {today}\n{'':{WIDTH}} {'due':11}{'':12}{'':13}calibrated", "$secondary")]
    rows += [Content.assemble(due_words(line), f" {_rest(line)}") for line in lines]
    return Content("\n").join(rows)


def _rest(line: Due) -> str:
    kept = line.kept
    return f"{kept.due or '-'!s:11}{kept.kind:12}{kept.key:13}{kept.calibrated or 'unknown'}"
