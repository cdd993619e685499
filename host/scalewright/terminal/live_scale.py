"""One thread owns the scale: readings come out by a queue, questions and tasks go in, a lost cable is waited for."""

import threading
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import closing
from queue import Empty, SimpleQueue
from typing import Any, TypeVar

from scalewright.errors import DeviceFault, LinkError
from scalewright.link.reading import Reading
from scalewright.link.scale import Identity, Scale
from scalewright.terminal.line import CLOSED, LIVE, LOST, OPENING, STRANGER, Leave, Line
from scalewright.terminal.progress import Progress
from shared_calc.coefficient_record import CoefficientError, CoefficientRecord, decode

Found = TypeVar("Found")
OPENING_TIMEOUT_S = 2.0
"""For each of four tries: a board that restarts when its port is opened speaks within that."""
WAIT_S = 0.5
"""Between two looks for a scale that was lost."""
LEAVING_S = 2.0
"""How long stop() waits."""

News = Reading | Line | Progress
Wish = tuple[Callable[[Scale], Any], Future[Any]]


class _Stranger(LinkError):
    """Another scale answers."""


class LiveScale(threading.Thread):
    """Streams a scale's readings until stop(); opens the line again when it was lost, if it is the same scale.

    `news` holds Readings, Lines and, where a task tells it, Progress in the order they happened. Only this thread
    touches the Scale.
    """

    def __init__(self, url: str, open_scale: Callable[[str, float], Scale] = Scale.open) -> None:
        super().__init__(name=f"scale at {url}", daemon=True)
        self.url = url
        self.news: SimpleQueue[News] = SimpleQueue()
        self.identity: Identity | None = None
        self._open_scale = open_scale
        self._missed_before = 0
        self._scale: Scale | None = None
        self._leaving = threading.Event()
        self._pausing = threading.Event()
        self._is_over = threading.Event()
        self._questions: SimpleQueue[Wish] = SimpleQueue()
        self._tasks: SimpleQueue[Wish] = SimpleQueue()
        self._task: Wish | None = None

    @property
    def readings_missed(self) -> int:
        """How many readings the device made that did not arrive, by their numbers."""
        scale = self._scale
        return self._missed_before + (scale.conversation.readings_missed if scale else 0)

    def between(self, question: Callable[[Scale], Found]) -> Future[Found]:
        """Have a question answered between two readings; it must be short. Its ScalewrightError is the Future's."""
        return self._put(self._questions, question)

    def ask(self, command: str) -> Future[str]:
        """Have a command carried out between two readings."""
        return self.between(lambda scale: scale.ask(command))

    def work(self, task: Callable[[Scale], Found]) -> Future[Found]:
        """Have a task done that needs the scale for itself and calls `pass_on` for each reading it takes.

        A task that loses the line is called again once the scale is back: it must know where it stood.
        """
        return self._put(self._tasks, task)

    def pause(self) -> None:
        """End the task under way at its next reading."""
        self._pausing.set()

    def pass_on(self, reading: Reading) -> None:
        """Show a reading of a task. Raises Leave where the task is to end."""
        self.news.put(reading)
        if self._scale is not None:
            self._answer_questions(self._scale)
        if self._leaving.is_set() or self._pausing.is_set():
            raise Leave

    def watch(self, scale: Scale, is_over: Callable[[], bool]) -> None:
        """Within a task: show readings until something is over, a person's step say. Raises Leave."""
        with closing(scale.readings()) as stream:
            for reading in stream:
                self.pass_on(reading)
                if is_over():
                    return

    def note_coefficients(self, scale: Scale) -> None:
        """Within a task: tell what the scale weighs with from now on."""
        self.identity = scale.identify()
        self._tell_live(scale, "connected")

    def stop(self, timeout_s: float = LEAVING_S) -> None:
        """Let the scale go; returns when that is done, or after timeout_s where a driver hangs."""
        self._leaving.set()
        if self.is_alive():
            self.join(timeout_s)

    def run(self) -> None:
        """Stay with the scale until stop()."""
        self._tell(OPENING, f"opening {self.url}")
        while not self._leaving.is_set():
            try:
                self._stay_connected()
            except LinkError as error:
                if self.identity is None:  # it has never answered: that is for the person to know
                    self._tell(CLOSED, str(error))
                    break
                self._tell(STRANGER if isinstance(error, _Stranger) else LOST, error.message)
                self._leaving.wait(WAIT_S)
        self._give_up()

    def _stay_connected(self) -> None:
        """Open the line and serve it until it is lost, or the person leaves."""
        with self._open_scale(self.url, OPENING_TIMEOUT_S) as scale:
            if self.identity is not None and not _are_same(scale.identity, self.identity):
                there, wanted = scale.identity.serial_number, self.identity.serial_number
                raise _Stranger(f"scale {there} is there now; waiting for {wanted}", port=self.url)
            self._scale = scale
            try:
                self._serve(scale)
            finally:
                self._scale, self._missed_before = None, self.readings_missed

    def _serve(self, scale: Scale) -> None:
        again = self.identity is not None
        self.identity = scale.identity
        self._tell_live(scale, "the same scale is back" if again else "connected")
        while not self._leaving.is_set():
            if self._task is None:
                self._stream(scale)
            else:
                self._carry_out(scale)

    def _stream(self, scale: Scale) -> None:
        with closing(scale.readings()) as stream:
            for reading in stream:
                self.news.put(reading)
                self._answer_questions(scale)
                self._task = _next(self._tasks)
                if self._task or self._leaving.is_set():
                    self._pausing.clear()
                    return

    def _carry_out(self, scale: Scale) -> None:
        assert self._task is not None
        task, future = self._task
        try:
            found = task(scale)
        except LinkError:
            raise  # the task stays, to be taken up again
        except Exception as error:  # whoever waits for the Future decides what it means
            self._task = None
            future.set_exception(error)
        else:
            self._task = None
            future.set_result(found)
        self.note_coefficients(scale)

    def _answer_questions(self, scale: Scale) -> None:
        while asked := _next(self._questions):
            question, future = asked
            try:
                future.set_result(question(scale))
            except Exception as error:  # as in _carry_out
                future.set_exception(error)
                if isinstance(error, LinkError):
                    raise

    def _tell_live(self, scale: Scale, text: str) -> None:
        self.news.put(Line(LIVE, text, self.identity, _record_of(scale)))

    def _tell(self, state: str, text: str) -> None:
        self.news.put(Line(state, text, self.identity))

    def _put(self, wishes: "SimpleQueue[Wish]", function: Callable[[Scale], Found]) -> Future[Found]:
        future: Future[Found] = Future()
        future.set_running_or_notify_cancel()  # whoever stops waiting for it does not undo it
        wishes.put((function, future))
        if self._is_over.is_set():
            self._turn_away()
        return future

    def _give_up(self) -> None:
        self._is_over.set()
        if self._task is not None:
            self._task[1].set_exception(Leave())
        self._turn_away()
        if self._leaving.is_set():
            self._tell(CLOSED, "let go")

    def _turn_away(self) -> None:
        """Nobody may wait for an answer that will not come."""
        for wishes in (self._tasks, self._questions):
            while wish := _next(wishes):
                wish[1].set_exception(Leave())


def _are_same(one: Identity, other: Identity) -> bool:
    return (one.model, one.serial_number) == (other.model, other.serial_number)


def _record_of(scale: Scale) -> CoefficientRecord | None:
    try:
        record: CoefficientRecord = decode(scale.read_coefficients())
    except (DeviceFault, CoefficientError):
        return None
    return record


def _next(queue: "SimpleQueue[Found]") -> Found | None:
    try:
        return queue.get_nowait()
    except Empty:
        return None
