"""What the tests of the screens share: an app on a terminal of a given size, its text, and waiting for a condition."""

import asyncio
import os
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

from textual import events
from textual.pilot import Pilot

from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench

SIZES = ((80, 24), (132, 43))
REWRITE = "SCALEWRIGHT_REWRITE_SCREENS"
"""An environment variable: set, the kept screens are written anew instead of compared."""
KEPT = Path(__file__).parent / "screens"
LOOK_EVERY_S = 0.1
REST_S = 2.0
PATIENCE_S = 40.0  # far more than is needed: tests share their machine

Play = Callable[["Pilot[None]"], Awaitable[None]]


def play(app: BenchApp, steps: Play, size: tuple[int, int] = (80, 24)) -> None:
    """Run the app on a terminal of this size and take the steps."""

    async def run() -> None:
        async with app.run_test(size=size) as pilot:
            await steps(pilot)

    asyncio.run(run())


async def press(pilot: "Pilot[None]", *keys: str) -> None:
    """Press keys, and go on once they have been taken.

    Pilot.press would wait after each for the process to rest, which it never does while readings come.
    """
    driver = pilot.app._driver
    assert driver is not None
    for key in keys:
        event = events.Key(key, key if len(key) == 1 else None)
        event.set_sender(pilot.app)
        driver.send_message(event)
        await pilot.pause(0)


async def answer(pilot: "Pilot[None]", key: str, question: str, text: str) -> None:
    """Press a key, and answer the question that comes of it."""
    await press(pilot, key)
    await until_it_says(pilot, question)
    await press(pilot, *text, "enter")


async def until(pilot: "Pilot[None]", condition: Callable[[], bool]) -> None:
    """Let the app go on until it is so."""
    end = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < end, f"not so after {PATIENCE_S:g} s; the screen is\n{text_of(pilot)}"
        await asyncio.sleep(LOOK_EVERY_S)  # a look costs as much as the app does meanwhile


async def until_it_says(pilot: "Pilot[None]", words: str) -> None:
    """Let the app go on until these words stand somewhere on the screen."""
    await until(pilot, lambda: words in text_of(pilot))


def text_of(pilot: "Pilot[None]") -> str:
    """Return what is on the screen, line by line, without colours."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join(strip.text.rstrip() for strip in strips) + "\n"


async def until_as_kept(pilot: "Pilot[None]", name: str) -> None:
    """Let the app go on until the screen is the one that was kept under this name and its size."""
    width, height = pilot.app.size
    file = KEPT / f"{name}_{width}x{height}.txt"
    if os.environ.get(REWRITE):
        await asyncio.sleep(REST_S)  # whoever rewrites looks at what comes of it
        file.write_text(text_of(pilot), encoding="utf-8")
    kept = file.read_text(encoding="utf-8")
    await until(pilot, lambda: text_of(pilot) == kept)


def app_at(folder: Path, url: str = "", **look: bool) -> BenchApp:
    """Return the app with its records in a folder of the test."""
    return BenchApp(Bench(folder / "records.sqlite"), url, **look)
