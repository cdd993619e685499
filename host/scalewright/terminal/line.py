"""What has become of the line to the scale. It imports nothing that takes time: the first screen shows it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scalewright.link.scale import Identity
    from shared_calc.coefficient_record import CoefficientRecord

OPENING, LIVE, LOST, STRANGER, CLOSED = "opening", "live", "lost", "stranger", "closed"


@dataclass(frozen=True)
class Line:
    """What has become of the line to the scale."""

    state: str
    """OPENING; LIVE: readings come; LOST: tried again by itself; STRANGER: another scale is there; CLOSED: given up."""
    text: str
    """The same in words, for a person."""
    identity: "Identity | None" = None
    record: "CoefficientRecord | None" = None
    """What the scale weighs with; None where it is uncalibrated."""


class Leave(Exception):
    """Raised within a task that is to end because the person pauses it or leaves; what it had accepted is kept."""
