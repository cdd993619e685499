"""The thread that owns the scale, on the virtual scale at twenty times the speed of life."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from scalewright.errors import DeviceFault
from scalewright.link.reading import Reading
from scalewright.link.scale import Scale
from scalewright.terminal.line import CLOSED, LIVE, LOST, OPENING, STRANGER, Leave, Line
from scalewright.terminal.live_scale import LiveScale

URL = "virtual://plover?speed=20"
PATIENCE_S = 20.0


@contextmanager
def live(url: str = URL, open_scale: Callable[[str, float], Scale] = Scale.open) -> Iterator[LiveScale]:
    scale = LiveScale(url, open_scale)
    scale.start()
    try:
        yield scale
    finally:
        scale.stop()
        assert not scale.is_alive()


def next_line(scale: LiveScale, state: str) -> Line:
    """Return the next news of this state; readings and other states before it are passed over."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        news = scale.news.get(timeout=PATIENCE_S)
        if isinstance(news, Line) and news.state == state:
            return news
    raise AssertionError(f"the line did not become {state}")


def next_readings(scale: LiveScale, number: int) -> list[Reading]:
    found: list[Reading] = []
    while len(found) < number:
        news = scale.news.get(timeout=PATIENCE_S)
        if isinstance(news, Reading):
            found.append(news)
    return found


def lose_power(scale: LiveScale) -> None:
    """Cut the power of the virtual scale at its next write to its store, then have it write."""
    scale.ask("VIRTual:POWer:CUT 0")
    scale.ask("CALibration:SEAL ON")


def test_readings_come_in_order_and_none_is_missed() -> None:
    with live() as scale:
        line = next_line(scale, LIVE)
        numbers = [reading.number for reading in next_readings(scale, 40)]
        assert numbers == list(range(numbers[0], numbers[0] + 40))
        assert scale.readings_missed == 0
    assert line.identity is not None
    assert line.identity.serial_number == "plover"
    assert line.record is None


def test_a_command_is_carried_out_between_two_readings() -> None:
    with live() as scale:
        assert scale.ask("*OPC?").result(PATIENCE_S) == "1"
        assert next_readings(scale, 5)


def test_what_the_device_refuses_is_told_to_whoever_asked_and_readings_go_on() -> None:
    with live() as scale:
        with pytest.raises(DeviceFault):
            scale.ask("SENSe:TARE 5").result(PATIENCE_S)
        assert next_readings(scale, 5)


def test_a_port_that_cannot_be_opened_is_told_with_its_remedy() -> None:
    with live("virtual://plover?speed=nonsense") as scale:
        assert scale.news.get(timeout=PATIENCE_S) == Line(OPENING, "opening virtual://plover?speed=nonsense")
        assert "expected a number" in next_line(scale, CLOSED).text


def test_a_lost_line_is_told_and_the_same_scale_taken_up_again(tmp_path: Path) -> None:
    with live(f"{URL}&storage={tmp_path}") as scale:
        lose_power(scale)
        assert "the line was lost" in next_line(scale, LOST).text
        assert next_line(scale, LIVE).text == "the same scale is back"
        assert next_readings(scale, 5)


def test_another_scale_is_not_taken_for_the_one_that_was_lost() -> None:
    urls = iter([URL, "virtual://heron?speed=20", "virtual://heron?speed=20", URL])

    def open_scale(_: str, timeout_s: float) -> Scale:
        return Scale.open(next(urls), timeout_s)

    with live(URL, open_scale) as scale:
        lose_power(scale)
        assert "scale heron is there now; waiting for plover" in next_line(scale, STRANGER).text
        assert next_line(scale, LIVE).text == "the same scale is back"


def test_a_task_that_loses_the_line_is_called_again_when_the_scale_is_back(tmp_path: Path) -> None:
    serials = []

    def task(scale: Scale) -> str:
        serials.append(scale.identity.serial_number)
        if len(serials) == 1:
            scale.ask("VIRTual:POWer:CUT 0")
            scale.ask("CALibration:SEAL ON")
        return "done"

    with live(f"{URL}&storage={tmp_path}") as scale:
        assert scale.work(task).result(PATIENCE_S) == "done"
    assert serials == ["plover", "plover"]


def test_a_task_shows_its_readings_and_answers_questions_meanwhile() -> None:
    answers = []

    with live() as scale:
        scale.work(lambda own: scale.watch(own, lambda: bool(answers)))
        scale.ask("*OPC?").add_done_callback(lambda future: answers.append(future.result()))
        assert next_readings(scale, 5)
        assert scale.ask("*OPC?").result(PATIENCE_S) == "1"
    assert answers == ["1"]


def test_a_task_ends_at_its_next_reading_when_it_is_paused() -> None:
    with live() as scale:
        started = next_line(scale, LIVE)
        task = scale.work(lambda own: scale.watch(own, lambda: False))
        next_readings(scale, 3)
        while not task.done():
            scale.pause()
            next_readings(scale, 1)
        assert isinstance(task.exception(), Leave)
        assert started.state == next_line(scale, LIVE).state


def test_nobody_waits_for_an_answer_after_the_scale_was_let_go() -> None:
    with live() as scale:
        next_line(scale, LIVE)
        task = scale.work(lambda own: scale.watch(own, lambda: False))
    assert isinstance(task.exception(PATIENCE_S), Leave)
    assert isinstance(scale.ask("*OPC?").exception(PATIENCE_S), Leave)
