"""A job at the bench as its entries in the journal: what was asked, what was answered, what came of it.

    job.begun      the plan, the scale, the device as it was found, and what else the front end knows of the job
    job.answer     a request, its answer, and why it was accepted where it had been refused
    job.withdrawn  how many of the last answers no longer count, and why: they stay in the journal
    job.left       why a job ends without a result: what was found until then stays
    job.ended      the result, what was found beside each limit, and the device as it was left
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Any, Protocol
from uuid import uuid4

from scalewright.errors import ProcedureError, RecordError
from scalewright.plain import plain, revive
from scalewright.procedures.plans import Plan
from scalewright.procedures.requests import ANSWERS, Answer, Request
from scalewright.procedures.run import Run

PROCEDURES_VERSION = 2
"""A replay of kept answers is valid only under the procedures that asked the questions."""


class Device(Protocol):
    """The identity of a scale; see scalewright.link.scale."""

    @property
    def serial_number(self) -> str: ...


class Entry(Protocol):
    """An entry as the journal gives it back."""

    @property
    def kind(self) -> str: ...
    @property
    def job(self) -> str: ...
    @property
    def body(self) -> dict[str, Any]: ...


class Journal(Protocol):
    """Where entries go; see scalewright.records."""

    def append(self, kind: str, job: str, body: dict[str, Any]) -> object:
        """Return once the entry is on disk."""

    def entries(self, job: str | None = None, kind: str | None = None) -> Iterable[Entry]:
        """Return the entries in order, of one job or kind if given."""


@dataclass(frozen=True)
class Override:
    """A guard that was set aside."""

    guard: str
    """what objected, such as "mass overdue" """
    objection: str
    """what it said"""
    reason: str
    """why the work goes on all the same"""


@dataclass(frozen=True)
class Circumstances:
    """What is true of a job from its beginning."""

    scale: str = ""
    """key in the register of scales; empty where it is in none"""
    by: str = ""
    """initials"""
    masses: tuple[str, ...] = ()
    """keys of the mass sets used"""
    instruments: tuple[str, ...] = ()
    """keys of the thermometers and so on"""
    overrides: tuple[Override, ...] = ()
    remarks: str = ""


def jobs_of(scale: str, plan: type[Plan]) -> str:
    """Return what the names of all jobs of a registered scale under one kind of plan begin with."""
    return f"{scale}:{plan.__name__}:"


class Job:
    """Entries of one job, under one name, and the run of its plan."""

    def __init__(self, journal: Journal, name: str, plan: Plan, run: Run[Any], serial_number: str) -> None:
        self._journal = journal
        self.name = name
        self.plan = plan
        self.run = run
        self._serial_number = serial_number

    @classmethod
    def begin(
        cls, journal: Journal, plan: Plan, device: Device, circumstances: Circumstances | None = None
    ) -> "Job":
        """Begin a job; its plan is on disk when this returns. device: the identity of the scale as it was found."""
        name = f"{datetime.now(UTC):%Y%m%dT%H%M%SZ}-{uuid4().hex[:8]}"
        if circumstances and circumstances.scale:
            name = jobs_of(circumstances.scale, type(plan)) + name
        job = cls(journal, name, plan, Run(plan.steps), device.serial_number)
        body = {"plan": plan, "procedures_version": PROCEDURES_VERSION, "device": device}
        job._append("job.begun", procedure=type(plan).__name__, circumstances=circumstances or Circumstances(), **body)
        return job

    @classmethod
    def resume(cls, journal: Journal, name: str) -> "Job":
        """Return the job as it stood after its last kept answer.

        Raises RecordError where there is no such job or it cannot be read, and ProcedureError where it has ended, or
        was begun by another version of the procedures.
        """
        story = Story.of(journal.entries(job=name), name)
        if story.end is not None:
            raise ProcedureError(f"job {name} has ended", "begin a new one")
        if story.begun["procedures_version"] != PROCEDURES_VERSION:
            raise ProcedureError(f"job {name} was begun by another version of Scalewright", "begin a new one")
        return cls(journal, name, story.plan, story.replay(), story.begun["device"]["serial_number"])

    def check_device(self, serial_number: str) -> None:
        """Raise ProcedureError where this is not the scale that the job was begun with."""
        if serial_number != self._serial_number:
            raise ProcedureError(
                f"this is scale number {serial_number}; job {self.name} was begun with {self._serial_number}",
                "connect that one",
            )

    def keep(self, request: Request, answer: Answer, accepted: str = "") -> None:
        """Keep one answer; on disk when this returns. accepted: why, where the reading had been refused."""
        self._append("job.answer", request=request, answer=answer, **({"accepted": accepted} if accepted else {}))

    def withdraw(self, answers: int, reason: str) -> None:
        """Go back before the last answers, to repeat from there. They stay in the journal and no longer count."""
        if not reason.strip():
            raise ProcedureError("a repeat needs a reason", "say why, such as: knocked the table")
        self._append("job.withdrawn", answers=answers, reason=reason)
        self.run = self.run.without_last(answers)

    def begin_part_again(self, reason: str) -> None:
        """Go back to the beginning of the part under way; what was found before it stays."""
        self.withdraw(self.run.answers_in_stage, reason)

    def leave(self, reason: str) -> None:
        """End the job without a result. What was found until now is kept with it."""
        self._append("job.left", reason=reason, outcomes=self.run.outcomes)

    def end(self, device: Device) -> None:
        """Keep the result, and the device as it was left."""
        self._append("job.ended", result=self.run.result, outcomes=self.run.outcomes, passed=self.passed, device=device)

    @property
    def result(self) -> Any:
        """What the plan ended in; of the type that its `steps` return."""
        return self.run.result

    @property
    def passed(self) -> bool:
        """Is everything found so far that counts within its limit?"""
        return self.plan.passed(self.run.outcomes)

    def _append(self, kind: str, **body: object) -> None:
        self._journal.append(kind, self.name, plain(body))


@dataclass(frozen=True)
class Story:
    """What the journal tells of one job."""

    name: str
    begun: dict[str, Any]
    """body of job.begun"""
    answers: tuple[tuple[Request, Answer, str], ...]
    """those that count: request, answer, why it was accepted against a refusal"""
    withdrawn: tuple[tuple[int, str], ...]
    """how many answers no longer counted, and why"""
    end: dict[str, Any] | None
    """body of job.ended or job.left; None while the job is open"""

    @classmethod
    def of(cls, entries: Iterable[Entry], name: str) -> "Story":
        """Read a job's entries. Raises RecordError where they are none, or not of a job."""
        begun, end, withdrawn = None, None, []
        answers: list[tuple[Request, Answer, str]] = []
        for entry in entries:
            match entry.kind:
                case "job.begun":
                    begun = entry.body
                case "job.answer":
                    answers.append(_answer(entry.body))
                case "job.withdrawn":
                    withdrawn.append((entry.body["answers"], entry.body["reason"]))
                    del answers[len(answers) - entry.body["answers"] :]
                case "job.ended" | "job.left":
                    end = entry.body
        if begun is None:
            raise RecordError(f"there is no job {name} in these records", "scalewright records list shows them")
        return cls(name, begun, tuple(answers), tuple(withdrawn), end)

    @cached_property
    def plan(self) -> Plan:
        """The plan it was begun with."""
        plan: Plan = revive(self.begun["plan"], Plan, "plan")
        return plan

    @cached_property
    def circumstances(self) -> Circumstances:
        """What is true of it from its beginning."""
        circumstances: Circumstances = revive(self.begun["circumstances"], Circumstances, "circumstances")
        return circumstances

    def replay(self) -> Run[Any]:
        """Return the run that its answers lead to, computed anew."""
        return Run(self.plan.steps, [answer for _, answer, _ in self.answers])


def _answer(body: dict[str, Any]) -> tuple[Request, Answer, str]:
    request: Request = revive(body["request"], Request, "request")
    kind = ANSWERS.get(type(request))
    return request, None if kind is None else revive(body["answer"], kind, "answer"), body.get("accepted", "")


def open_jobs(journal: Journal) -> list[str]:
    """Return the names of the jobs that were begun and have no end, the oldest first."""
    names = dict.fromkeys(entry.job for entry in journal.entries(kind="job.begun"))
    for kind in ("job.ended", "job.left"):
        for entry in journal.entries(kind=kind):
            names.pop(entry.job, None)
    return list(names)
