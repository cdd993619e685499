"""A person at the bench, asked by lines on the terminal. Questions go to stderr, so that results can be piped."""

import sys
from collections.abc import Callable

from scalewright.errors import MeasurementError
from scalewright.link.reading import Reading
from scalewright.procedures.instructions import instruction
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import Ask, Request, Setting


class PersonAtTerminal:
    """Asks and waits for Enter. show: sees what is found as it comes."""

    def __init__(self, show: Callable[[Outcome], None] | None = None) -> None:
        self._show = show

    def act(self, setting: Setting) -> None:
        """Return when the person says that it is done."""
        _line(f"Please {instruction(setting)}, then press Enter. ")

    def ask(self, question: Ask) -> str:
        """Return the answer; one of the choices, where there are any."""
        choices = f" [{' / '.join(question.choices)}]" if question.choices else ""
        while True:
            answer = _line(f"{question.question}{choices} ").strip()
            matching = [choice for choice in question.choices if answer and choice.startswith(answer)]
            if not question.choices and answer:
                return answer
            if len(matching) == 1:
                return matching[0]

    def refused(self, request: Request, refusal: MeasurementError, *, can_be_accepted: bool) -> str:
        """Return "" to have the reading taken again, or the person's reason to accept it."""
        print(f"Not accepted: {refusal}", file=sys.stderr)
        if not can_be_accepted:
            return _line("Press Enter to have it taken again. ") and ""
        return _line("Press Enter to have it taken again, or write why it is right: ").strip()

    def watch(self, reading: Reading) -> None:
        """Nothing is shown while readings come in."""

    def show(self, outcome: Outcome) -> None:
        """Hand it on; otherwise the line of progress says enough."""
        if self._show is not None:
            self._show(outcome)


def _line(question: str) -> str:
    print(question, end="", file=sys.stderr, flush=True)
    answer = sys.stdin.readline()
    if not answer:
        raise KeyboardInterrupt
    return answer
