"""How a job stands, as a picture of one moment that goes from the scale's thread to the screens."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scalewright.procedures.outcomes import Outcome, Stage
    from scalewright.procedures.plans import Plan
    from scalewright.procedures.rehearsal import Outline
    from scalewright.procedures.requests import Request

WORKING, HANDS, ASKED, REFUSED, PAUSED, FAILED, ENDED = (
    "working", "hands", "asked", "refused", "paused", "failed", "ended",
)  # fmt: skip


@dataclass(frozen=True)
class Progress:
    """How a job stands."""

    state: str
    """WORKING: wait; HANDS: the person is to do `request`; ASKED: is to answer it; REFUSED: is to decide; PAUSED: can
    be taken up again; FAILED: came to nothing; ENDED: has its result"""
    job: str
    plan: "Plan"
    outline: "Outline"
    request: "Request | None"
    stages: "tuple[Stage, ...]"
    outcomes: "tuple[Outcome, ...]"
    answered: int
    """how many requests were answered"""
    readings: int
    """how many of them were for a reading"""
    text: str = ""
    """why a reading was refused, or the work stopped"""
    can_be_accepted: bool = False
    """may the refused reading be accepted with a reason?"""
    pace: int = 1
    """how much faster than yours the time of the device runs"""
    suspicions: tuple[str, ...] = ()
    """at the end: the faults that the results point to"""

    @property
    def remaining_s(self) -> float:
        """How long the rest takes where nothing goes wrong."""
        return self.outline.duration_s * max(1 - self.answered / max(self.outline.requests, 1), 0) / self.pace

    @property
    def passed(self) -> bool:
        """Is everything found so far that counts within its limit?"""
        return self.plan.passed(self.outcomes)
