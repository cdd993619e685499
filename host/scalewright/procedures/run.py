"""A procedure under way.

A procedure is a generator: it yields requests and is sent their answers; it yields a Stage or an Outcome to tell how
it goes, and is sent nothing. It does no I/O, reads no clock and draws no random number, so the same answers lead to the
same place.
"""

from collections.abc import Callable, Generator, Iterable
from dataclasses import replace
from typing import Generic, TypeVar

from scalewright.procedures.outcomes import Outcome, Stage
from scalewright.procedures.requests import (
    Answer,
    ClearZeroAndTare,
    Indication,
    Moment,
    PlaceLoad,
    Request,
    Restart,
    SetAir,
    SetTare,
    Setting,
    SetZero,
    StillReading,
    TiltScale,
)

Result = TypeVar("Result")
Procedure = Generator[Request | Stage | Outcome, Answer, Result]


class Run(Generic[Result]):
    """Stands at the `request` that waits for its answer; at the end `request` is None and `result` is there.

    Given the answers of an earlier run it stands where that one stopped: a procedure asks the same questions when it
    is given the same answers.
    """

    def __init__(self, procedure: Callable[[], Procedure[Result]], answers: Iterable[Answer] = ()) -> None:
        self._procedure = procedure
        self._generator = procedure()
        self.request: Request | None = None
        self.result: Result | None = None
        self.stages: list[Stage] = []
        """the parts begun so far; the last is under way"""
        self._stage_starts: list[int] = []
        self.outcomes: list[Outcome] = []
        self.answered: list[tuple[Request, Answer]] = []
        self._advance(None)
        for answer in answers:
            self.answer(answer)

    def answer(self, answer: Answer) -> None:
        """Give the procedure what it asked for. What it raises comes out here."""
        assert self.request is not None
        self.answered.append((self.request, answer))
        self._advance(answer)

    def without_last(self, answers: int) -> "Run[Result]":
        """Return the run as it stood before its last answers, for a repeat."""
        kept = self.answered[: len(self.answered) - answers]
        return Run(self._procedure, [answer for _, answer in kept])

    @property
    def parts(self) -> list[tuple[Stage, list[tuple[Request, Answer]]]]:
        """The parts begun so far, each with what was asked and answered in it."""
        ends = [*self._stage_starts[1:], len(self.answered)]
        each = zip(self.stages, self._stage_starts, ends, strict=True)
        return [(stage, self.answered[start:end]) for stage, start, end in each]

    @property
    def answers_in_stage(self) -> int:
        """How many answers the part under way has had."""
        return len(self.answered) - (self._stage_starts[-1] if self._stage_starts else 0)

    @property
    def clock_ms(self) -> int | None:
        """What the device's clock last showed in the part under way; None where it was not read since it started."""
        for request, answer in reversed(self.answered[len(self.answered) - self.answers_in_stage :]):
            if isinstance(request, Restart):
                return None
            if isinstance(answer, StillReading | Indication | Moment):
                return answer.time_ms
        return None

    @property
    def has_set_display(self) -> bool:
        """Was the scale told to set zero or tare, and not to forget them since?"""
        asked = (request for request, _ in reversed(self.answered))
        last = next((each for each in asked if isinstance(each, SetZero | SetTare | ClearZeroAndTare)), None)
        return isinstance(last, SetZero | SetTare)

    @property
    def settings(self) -> list[Setting]:
        """What was last done to the scale and must still be so: load, tilt, air."""
        last = {type(request): request for request, _ in self.answered}
        return [request for request in last.values() if isinstance(request, PlaceLoad | TiltScale | SetAir)]

    def _advance(self, answer: Answer) -> None:
        try:
            asked = self._generator.send(answer)
            while isinstance(asked, Stage | Outcome):
                self._note(asked)
                asked = next(self._generator)
            self.request = asked
        except StopIteration as end:
            self.request, self.result = None, end.value

    def _note(self, told: Stage | Outcome) -> None:
        if isinstance(told, Stage):
            self.stages.append(told)
            self._stage_starts.append(len(self.answered))
        else:
            self.outcomes.append(replace(told, stage=self.stages[-1].title) if self.stages else told)
