"""Carrying a procedure out on a scale: every answer is kept before the next request is shown."""

from collections.abc import Callable, Iterator
from contextlib import closing
from typing import Protocol, TypeVar

from scalewright.errors import MeasurementError, SpoiledError
from scalewright.link.reading import Reading
from scalewright.link.scale import Scale
from scalewright.procedures.job import Job
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.plausibility import check_plausible
from scalewright.procedures.requests import (
    Answer,
    Ask,
    ClearZeroAndTare,
    Do,
    Indication,
    Moment,
    PlaceLoad,
    ReadCoefficients,
    Request,
    Restart,
    SetAir,
    SetTare,
    Setting,
    SetZero,
    StillReading,
    StoreCoefficients,
    TakeIndication,
    TakeReading,
    TakeStillReading,
    TiltScale,
    WaitUntil,
)
from scalewright.procedures.run import Run
from scalewright.procedures.stillness import take, take_indication, take_still

Result = TypeVar("Result")
Keep = Callable[[Request, Answer, str], None]
"""Takes a request, its answer and why it was accepted against a refusal, and returns once they are safe on disk."""
_AGAIN = "begin this part of the test again"
_TIMES_SPOILED = 3  # then it is no accident


class Operator(Protocol):
    """Whoever stands at the bench: a person, or the virtual scale's own hand. Any method may raise to break off."""

    def act(self, setting: Setting) -> None:
        """Return when this is done."""

    def ask(self, question: Ask) -> str:
        """Return the answer to a question."""

    def refused(self, request: Request, refusal: MeasurementError, *, can_be_accepted: bool) -> str:
        """Say why a refused reading is to be accepted all the same; "" to have it taken again."""

    def watch(self, reading: Reading) -> None:
        """See a reading as it comes."""

    def show(self, outcome: Outcome) -> None:
        """See what was found."""


def perform(run: Run[Result], scale: Scale, operator: Operator, keep: Keep, *, is_resumed: bool = False) -> Result:
    """Answer every request of the run and return its result.

    Where it raises (the line was lost, the operator broke off) the run stands at the request that was not answered, and
    may be performed on: `is_resumed` first brings load, tilt and air back to what they were.
    """
    if is_resumed and run.request is not None:
        if run.has_set_display and _has_forgotten(scale):
            raise SpoiledError("the scale has forgotten zero and tare", _AGAIN)
        for setting in run.settings:
            operator.act(setting)
    shown = len(run.outcomes)
    while run.request is not None:
        request = run.request
        answer, why = _accepted(request, scale, operator)
        if isinstance(answer, Indication) and answer.time_ms < (run.clock_ms or 0):
            raise SpoiledError("the scale was switched off meanwhile: zero and tare are lost", _AGAIN)
        keep(request, answer, why)
        run.answer(answer)
        for outcome in run.outcomes[shown:]:
            operator.show(outcome)
        shown = len(run.outcomes)
    return run.result  # type: ignore[return-value]


def perform_job(job: Job, scale: Scale, operator: Operator, keep: Keep, *, is_resumed: bool = False) -> None:
    """Perform the run of a job; a part that came to nothing begins again, and only that.

    Raises SpoiledError where this does not help.
    """
    for _ in range(_TIMES_SPOILED):
        try:
            perform(job.run, scale, operator, keep, is_resumed=is_resumed)
            return
        except SpoiledError as error:
            spoiled = error
            job.begin_part_again(error.message)
            is_resumed = True
    raise spoiled


def _has_forgotten(scale: Scale) -> bool:
    """Neither zero nor tare is set: each is told rounded and, after a comma, exactly."""
    return all(scale.ask(question).endswith(",0") for question in ("SENSe:ZERO?", "SENSe:TARE?"))


def _accepted(request: Request, scale: Scale, operator: Operator) -> tuple[Answer, str]:
    """Return an answer that can be right, or why the operator takes one that seems wrong."""
    while True:
        answer: Answer = None
        try:
            answer = _answer_to(request, scale, operator)
            if isinstance(request, TakeStillReading | TakeIndication) and isinstance(answer, StillReading | Indication):
                check_plausible(request, answer)
            return answer, ""
        except MeasurementError as refusal:
            why = operator.refused(request, refusal, can_be_accepted=answer is not None)
            if why and answer is not None:
                return answer, why


def _answer_to(request: Request, scale: Scale, operator: Operator) -> Answer:
    match request:
        case PlaceLoad() | TiltScale() | SetAir() | Do():
            operator.act(request)
        case Restart():
            operator.act(request)
            scale.reconnect()
        case Ask():
            return operator.ask(request)
        case TakeStillReading(readings):
            with _watched(scale, operator) as stream:
                return take_still(stream, readings)
        case TakeReading(readings):
            with _watched(scale, operator) as stream:
                return take(stream, readings)
        case TakeIndication(readings):
            with _watched(scale, operator) as stream:
                return take_indication(stream, readings)
        case WaitUntil():
            with _watched(scale, operator) as stream:
                return _wait(stream, request)
        case SetZero():
            scale.ask("SENSe:ZERO")
        case SetTare():
            scale.ask("SENSe:TARE")
        case ClearZeroAndTare():
            scale.ask("SENSe:TARE:CLEar")
            scale.ask("SENSe:ZERO:CLEar")
        case ReadCoefficients():
            return b"" if scale.identity.coefficients == "none" else scale.read_coefficients()
        case StoreCoefficients(data):
            scale.store_coefficients(data)
            return scale.read_coefficients()
    return None


def _watched(scale: Scale, operator: Operator) -> "closing[Iterator[Reading]]":  # type: ignore[type-var]
    def readings() -> Iterator[Reading]:
        with closing(scale.readings()) as stream:
            for reading in stream:
                operator.watch(reading)
                yield reading

    return closing(readings())  # type: ignore[type-var]


def _wait(stream: Iterator[Reading], wait: WaitUntil) -> Moment:
    """Return the first moment from time_ms on. Raises SpoiledError where the clock was started anew, or it is late."""
    for reading in stream:
        if reading.time_ms < wait.since_ms:
            raise SpoiledError("the scale was switched off during the wait", _AGAIN)
        if wait.latest_ms is not None and reading.time_ms > wait.latest_ms:
            raise SpoiledError("the wait ended too late", _AGAIN)
        if reading.time_ms >= wait.time_ms:
            return Moment(reading.time_ms)
    raise AssertionError("readings come without end")
