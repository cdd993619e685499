"""A procedure under way. A procedure is a generator that yields requests and receives answers; it does no I/O."""

from collections.abc import Callable, Generator, Iterable
from typing import Generic, TypeVar

from scalewright.procedures.requests import Answer, Request

Result = TypeVar("Result")
Procedure = Generator[Request, Answer, Result]


class Run(Generic[Result]):
    """Stands at the `request` that waits for its answer; at the end `request` is None and `result` is there.

    Given the answers of an earlier run it stands where that one stopped: a procedure asks the same questions when it
    is given the same answers.
    """

    def __init__(self, procedure: Callable[[], Procedure[Result]], answers: Iterable[Answer] = ()) -> None:
        self._generator = procedure()
        self.request: Request | None = None
        self.result: Result | None = None
        self._advance(None)
        for answer in answers:
            self.answer(answer)

    def answer(self, answer: Answer) -> None:
        """Give the procedure what it asked for. What it raises comes out here."""
        self._advance(answer)

    def _advance(self, answer: Answer) -> None:
        try:
            self.request = self._generator.send(answer)
        except StopIteration as end:
            self.request, self.result = None, end.value
