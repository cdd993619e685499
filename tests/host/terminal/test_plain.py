"""The bench as plain lines, typed and said without a screen."""

import time
from collections.abc import Callable
from pathlib import Path

from scalewright.terminal.bench import Bench
from scalewright.terminal.plain import PlainBench
from scalewright.terminal.progress import ENDED, HANDS

PATIENCE_S = 60.0


class Talk:
    """What was typed and what was said."""

    def __init__(self, folder: Path) -> None:
        self.said: list[str] = []
        self.bench = Bench(folder / "records.sqlite")
        self.plain = PlainBench(self.bench, self.said.append)

    def until(self, condition: Callable[[], bool]) -> None:
        end = time.monotonic() + PATIENCE_S
        while not condition():
            assert time.monotonic() < end, "\n".join(self.said)
            self.plain.tell()
            time.sleep(0.02)

    def until_said(self, words: str) -> None:
        self.until(lambda: any(words in line for line in self.said))


def test_a_scale_is_calibrated_and_used_by_typed_words(tmp_path: Path) -> None:
    talk = Talk(tmp_path)
    try:
        talk.plain.take("connect virtual://plover?speed=20")
        talk.until_said("Type calibrate")
        talk.plain.take("calibrate 3000 1 2 4")
        talk.until(lambda: talk.bench.progress is not None and talk.bench.progress.state == HANDS)
        talk.plain.take("")
        talk.until_said("1 of 12 readings. Clear the pan.")
        talk.plain.take("all")
        talk.until(lambda: talk.bench.progress is not None and talk.bench.progress.state == ENDED)
        talk.until_said("12 of 12 readings. PASS: the scale is within its limits.")
        assert sum("allowed" in line for line in talk.said) == 5
        talk.plain.take("")
        talk.plain.take("load 500")
        talk.until_said("500 g gross")
        talk.plain.take("tare")
        talk.until_said("0 g net")
    finally:
        talk.bench.let_go()
    assert all("\n" not in line and line.isprintable() for line in talk.said)


def test_what_cannot_be_done_is_said_in_one_line(tmp_path: Path) -> None:
    talk = Talk(tmp_path)
    for typed in ("zero", "calibrate", "findings"):
        talk.plain.take(typed)
    assert talk.said == ["Not done: no scale is on the line"] * 3
    talk.plain.take("dance")
    assert talk.said[-1] == "dance is not a word it knows. help lists them."


def test_help_says_every_word(tmp_path: Path) -> None:
    talk = Talk(tmp_path)
    talk.plain.take("help")
    said = [line.partition(":")[0] for line in talk.said]
    assert {"connect", "zero", "tare", "calibrate", "pause", "quit"} <= set(said)
    talk.plain.take("quit")
    assert talk.plain.has_left
