"""A job at the bench, carried out in the scale's own thread; the person's answers come to it by a queue."""

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from queue import SimpleQueue

from scalewright.errors import DeviceFault, LinkError, MeasurementError, ScalewrightError
from scalewright.link.reading import Reading
from scalewright.link.scale import Scale
from scalewright.link.sighting import look_at
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.job import Circumstances, Job
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.perform import perform_job
from scalewright.procedures.plans import Plan
from scalewright.procedures.rehearsal import rehearse
from scalewright.procedures.requests import (
    Answer,
    Ask,
    PlaceLoad,
    Request,
    Setting,
    StoreCoefficients,
    TakeIndication,
    TakeReading,
    TakeStillReading,
)
from scalewright.procedures.suspicions import suspicions
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.records.journal import Journal
from scalewright.terminal.line import Leave
from scalewright.terminal.live_scale import LiveScale
from scalewright.terminal.progress import ASKED, ENDED, FAILED, HANDS, PAUSED, REFUSED, WORKING, Progress

FAST, AS_LIFE = 20, 1
"""How fast virtual time runs while the automatic hand works, and otherwise."""
COUNTED = (TakeStillReading, TakeReading)
"""Requests that the outline of a plan counts as readings."""


class Work:
    """One job. An instance is a task for LiveScale.work: called again it goes on where the journal says it stands.

    It is the Operator too: what is to be done by hand is done by the person, or on a virtual scale by its own hand.
    """

    def __init__(
        self,
        live: LiveScale,
        records: Path,
        plan: Plan | None,
        tell: Callable[[Progress], None],
        *,
        job_name: str = "",
        circumstances: Circumstances | None = None,
    ) -> None:
        self.job_name = job_name
        self.is_by_itself = False
        """Does the virtual scale's hand do everything without waiting for the person?"""
        self._live, self._records, self._plan, self._tell_all = live, records, plan, tell
        self._circumstances = circumstances
        self._replies: SimpleQueue[str] = SimpleQueue()
        self._withdrawal: tuple[int, str] | None = None

    def reply(self, text: str = "") -> None:
        """Say that what was asked for is done, or what the answer is."""
        self._replies.put(text)

    def go_by_itself(self) -> None:
        """Let the virtual hand do everything from now on, in quick time."""
        self.is_by_itself = True
        self._live.ask(f"VIRTual:CLOCk:SPEed {FAST}")
        self.reply()

    def take_back(self, reason: str) -> None:
        """Repeat the last reading when the work is next taken up; the journal keeps the old one and the reason."""
        self._withdrawal = (1, reason)

    def __call__(self, scale: Scale) -> Job:
        """Begin or go on, to the end. Raises LinkError where the line is lost: then it is to be called again."""
        with Journal(self._records) as journal:
            is_resumed = bool(self.job_name)
            self._take_up(scale, journal)
            self._hand = VirtualHand(scale) if scale.url.startswith("virtual:") else None
            self._tell(WORKING)
            try:
                perform_job(self._job, scale, self, self._keep, is_resumed=is_resumed)
            except LinkError:
                raise
            except Leave:
                self._tell(PAUSED)
                raise
            except ScalewrightError as error:
                self._job.leave(str(error))
                self._tell(FAILED, str(error))
                raise
            finally:
                self._slow_down()
            self._job.end(look_at(scale))
            self._tell(ENDED)
            return self._job

    def _take_up(self, scale: Scale, journal: Journal) -> None:
        """Make the job, or read it from the journal, and see how long it is."""
        self._scale = scale
        if self.job_name:
            self._job = Job.resume(journal, self.job_name)
            self._job.check_device(scale.identity.serial_number)
        else:
            assert self._plan is not None
            self._job = Job.begin(journal, self._plan, look_at(scale), self._circumstances)
            self.job_name = self._job.name
        if self._withdrawal is not None:
            self._job.withdraw(_back_to_the_load(self._job), self._withdrawal[1])
            self._withdrawal = None
        with_coefficients = scale.identity.coefficients != "none"
        self._outline = rehearse(self._job.plan, scale.read_coefficients() if with_coefficients else b"")

    def act(self, setting: Setting) -> None:
        """Return when it is done, by the person or by the virtual hand."""
        if self._hand is None or not self.is_by_itself:
            self._tell(HANDS, doing=setting)
            self._await_reply()
        if self._hand is not None:
            self._hand.act(setting)
        self._tell(WORKING)

    def ask(self, question: Ask) -> str:
        """Return the person's answer; working by itself, the first choice."""
        if self.is_by_itself and question.choices:
            return question.choices[0]
        self._tell(ASKED)
        return self._await_reply()

    def refused(self, request: Request, refusal: MeasurementError, *, can_be_accepted: bool) -> str:
        """Return why the person accepts the reading all the same; "" to take it again."""
        if self.is_by_itself and self._hand is not None and can_be_accepted:
            return self._hand.refused(request, refusal, can_be_accepted=True)
        self._tell(REFUSED, str(refusal), can_be_accepted=can_be_accepted)
        return self._await_reply()

    def watch(self, reading: Reading) -> None:
        """Show it. Raises Leave where the person pauses."""
        self._live.pass_on(reading)

    def show(self, outcome: Outcome) -> None:
        """It is in the next Progress."""

    def _keep(self, request: Request, answer: Answer, why: str) -> None:
        self._job.keep(request, answer, why)
        if isinstance(request, StoreCoefficients):
            self._live.note_coefficients(self._scale)
        self._tell(WORKING)

    def _await_reply(self) -> str:
        """Show readings until the person has replied. Replies to what was asked earlier count no more."""
        while not self._replies.empty():
            self._replies.get()
        self._live.watch(self._scale, lambda: not self._replies.empty())
        return self._replies.get()

    def _suspicions(self) -> tuple[str, ...]:
        plan = self._job.plan
        return tuple(map(str, suspicions(plan, self._job.run))) if isinstance(plan, Calibration) else ()

    def _slow_down(self) -> None:
        """Time goes on as it does for people, once the automatic hand has done its work."""
        if self.is_by_itself:
            with suppress(LinkError, DeviceFault):
                self._scale.ask(f"VIRTual:CLOCk:SPEed {AS_LIFE}")

    def _tell(self, state: str, text: str = "", *, doing: Request | None = None, can_be_accepted: bool = False) -> None:
        run = self._job.run
        readings = sum(isinstance(request, COUNTED) for request, _ in run.answered)
        self._tell_all(
            Progress(
                state,
                self.job_name,
                self._job.plan,
                self._outline,
                doing or run.request,
                tuple(run.stages),
                tuple(run.outcomes),
                len(run.answered),
                readings,
                text,
                can_be_accepted,
                FAST if self.is_by_itself else AS_LIFE,
                self._suspicions() if state == ENDED else (),
            )
        )


def _back_to_the_load(job: Job) -> int:
    """Return how many answers go back to before the load of the last reading was put on."""
    answered = job.run.answered
    readings = [k for k, (request, _) in enumerate(answered) if isinstance(request, (*COUNTED, TakeIndication))]
    last_reading = readings[-1] if readings else 0
    for k in range(last_reading, -1, -1):
        if k < len(answered) and isinstance(answered[k][0], PlaceLoad):
            return len(answered) - k
    return len(answered) - last_reading
