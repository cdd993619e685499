"""Carrying a plan out from the command line: a job in the journal, a hand for the loads, a line for every reading."""

import sys
from collections.abc import Callable
from decimal import Decimal

from scalewright.command_line.person import PersonAtTerminal
from scalewright.errors import LinkError, ScalewrightError, SpoiledError
from scalewright.link.scale import Scale
from scalewright.link.sighting import look_at
from scalewright.procedures.job import Circumstances, Job, Journal
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.perform import Operator, perform_job
from scalewright.procedures.plans import Plan
from scalewright.procedures.rehearsal import rehearse
from scalewright.procedures.requests import Answer, PlaceLoad, Request, StillReading
from scalewright.procedures.virtual_hand import VirtualHand

Show = Callable[[Outcome], None]


def operator_for(scale: Scale, show: Show | None = None) -> Operator:
    """Return the virtual scale's own hand where the scale is virtual, else a person; show: sees what is found."""
    return VirtualHand(scale, show=show) if scale.url.startswith("virtual:") else PersonAtTerminal(show)


def carry_out(
    scale: Scale, journal: Journal, plan: Plan, circumstances: Circumstances | None = None, show: Show | None = None
) -> Job:
    """Begin a job, carry it out and return it ended. Whatever breaks it off, it can be resumed by its name."""
    job = Job.begin(journal, plan, look_at(scale), circumstances)
    go_on(scale, job, show, is_resumed=False)
    return job


def go_on(scale: Scale, job: Job, show: Show | None = None, *, is_resumed: bool = True) -> None:
    """Carry a job on from where it stands, to its end."""
    readings = rehearse(job.plan, scale.read_coefficients() if scale.identity.coefficients != "none" else b"").readings
    progress = Progress(readings)

    def keep(request: Request, answer: Answer, accepted: str) -> None:
        job.keep(request, answer, accepted)
        progress.show(request, answer)

    try:
        perform_job(job, scale, operator_for(scale, show), keep, is_resumed=is_resumed)
    except (KeyboardInterrupt, LinkError, SpoiledError):
        print(f"\nkept so far; to go on: scalewright resume {job.name}", file=sys.stderr)
        raise
    except ScalewrightError as error:
        job.leave(str(error))
        raise
    job.end(look_at(scale))


class Progress:
    """Prints a line for every load that has been read, to stderr."""

    def __init__(self, readings: int) -> None:
        self._readings = readings
        self._done = 0
        self._load_g = Decimal(0)

    def show(self, request: Request, answer: Answer) -> None:
        """Take note of an answered request."""
        if isinstance(request, PlaceLoad):
            self._load_g = request.load_g
        if isinstance(answer, StillReading):
            self._done += 1
            place = f"  {self._done:>3} of {self._readings}"
            print(f"{place}  {self._load_g:>8} g  {float(answer.mean_counts):>12.1f} counts", file=sys.stderr)
