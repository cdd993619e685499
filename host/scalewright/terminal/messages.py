"""What the app tells the screens."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from scalewright.link.reading import Reading
    from scalewright.terminal.line import Line


@dataclass
class ReadingsArrived(Message):
    """Readings came, in order; sent ten times a second at most."""

    readings: "list[Reading]"
    """At least one."""


@dataclass
class LineChanged(Message):
    """The line to the scale was opened, lost, taken up again or let go."""

    line: "Line"
    """What it is now."""


class WorkChanged(Message):
    """The job at the bench went on; how it stands is in bench.progress."""
