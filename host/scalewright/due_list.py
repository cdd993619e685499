"""What is due when: scales, reference masses and instruments in one list, the most urgent first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

OVERDUE, NO_DATE, SOON, FINE = STATES = ("overdue", "no date", "due soon", "fine")
"""in the order of the list"""
SOON_DAYS = 30


@dataclass(frozen=True)
class Kept:
    """Something that is calibrated again and again."""

    key: str
    kind: str
    """scale, masses, thermometer and so on"""
    calibrated: date | None
    """when it was last; None where that is not known"""
    due: date | None
    """the last day on which it may be used; None where none is set"""
    why: str = ""
    """where the due date comes from, where that needs saying"""


@dataclass(frozen=True)
class Due:
    """One line of the list."""

    kept: Kept
    state: str
    """one of STATES; "no date" stands high, for nobody would notice that it is overdue"""
    days: int | None
    """from the day of the list to the due date, below 0 where it has passed; None where there is none"""


def due_list(things: Iterable[Kept], on: date, soon_days: int = SOON_DAYS) -> list[Due]:
    """Return every thing with its state on a day, by state and then by due date, kind and key.

    Due soon: with at most soon_days to go. The due date itself still counts as in time.
    """
    return sorted((_line(kept, on, soon_days) for kept in things), key=_urgency)


def _line(kept: Kept, on: date, soon_days: int) -> Due:
    if kept.due is None:
        return Due(kept, NO_DATE, None)
    days = (kept.due - on).days
    return Due(kept, OVERDUE if days < 0 else SOON if days <= soon_days else FINE, days)


def _urgency(line: Due) -> tuple[int, int, str, str]:
    return STATES.index(line.state), line.days or 0, line.kept.kind, line.kept.key
