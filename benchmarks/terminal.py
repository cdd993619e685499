"""The screens: how soon the first one is there, what 80 readings a second cost, how soon a key is answered.

    python benchmarks/terminal.py

The first screen is compared with a bare Textual application within one run. The scale is the virtual one on the real
MicroPython in a process of its own, so what is measured is the screens and the line alone; no terminal draws them.
"""

import asyncio
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from textual import events
from textual.pilot import Pilot

from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench
from scalewright.terminal.widgets.live_chart import LiveChart

ROOT = Path(__file__).parents[1]
STARTS = 9
SECONDS = 20.0
KEYS = 60
URL = "virtual://plover?rate=80&runtime=micropython"
SIZES = ((80, 24), (132, 43))

BARE = """
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("ready")
async def leave(pilot):
    pilot.app.exit()
Bare().run(headless=True, auto_pilot=leave)
"""
OURS = """
from pathlib import Path
from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench
async def leave(pilot):
    pilot.app.exit()
BenchApp(Bench(Path("none.sqlite"))).run(headless=True, auto_pilot=leave)
"""


def start_s(program: str) -> float:
    """Return how long a program takes from nothing to its first screen."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(str(ROOT / part) for part in ("host", "firmware", ""))}
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", program], check=True, env=environment, stdout=subprocess.DEVNULL)
    return time.perf_counter() - started


def print_start() -> None:
    """Take turns, so that whatever else the machine does is shared, and compare the quickest."""
    pairs = [(start_s(BARE), start_s(OURS)) for _ in range(STARTS)]
    bare, ours = (min(times) for times in zip(*pairs, strict=True))
    print(f"first screen: {1000 * ours:.0f} ms, bare Textual application {1000 * bare:.0f} ms: ratio {ours / bare:.2f}")


async def until_readings(bench: Bench, number: int) -> None:
    """Wait until so many readings have come."""
    while bench.number_of_readings < number:
        await asyncio.sleep(0.05)


async def key_ms(pilot: "Pilot[None]", key: str) -> float:
    """Return how long a key takes until what it changes has changed."""
    chart, driver = pilot.app.screen.query_one(LiveChart), pilot.app._driver
    assert driver is not None
    before, started = chart.span_s, time.perf_counter()
    event = events.Key(key, None)
    event.set_sender(pilot.app)
    driver.send_message(event)
    while chart.span_s == before:
        await asyncio.sleep(0)
    return 1000 * (time.perf_counter() - started)


async def print_live(size: tuple[int, int]) -> None:
    """Weigh for a while and tell what it took."""
    with tempfile.TemporaryDirectory() as folder:
        app = BenchApp(Bench(Path(folder) / "records.sqlite"), URL)
        async with app.run_test(size=size) as pilot:
            await until_readings(app.bench, 400)
            first, cpu, started = app.bench.number_of_readings, time.process_time(), time.perf_counter()
            await asyncio.sleep(SECONDS)
            took, cpu = time.perf_counter() - started, time.process_time() - cpu
            rate = (app.bench.number_of_readings - first) / took
            times = []
            for k in range(KEYS):
                await asyncio.sleep(0.037)  # no multiple of anything that goes on
                times.append(await key_ms(pilot, "plus" if k % 4 < 2 else "minus"))
            missed = app.bench.live.readings_missed if app.bench.live else -1
    print(
        f"{size[0]} x {size[1]}: {rate:.1f} readings/s, {100 * cpu / took:.1f} % of a core, {missed} missed; "
        f"a key is answered in {median(times):.1f} ms, at worst {max(times):.1f} ms of {KEYS}"
    )


if __name__ == "__main__":
    print_start()
    for size in SIZES:
        asyncio.run(print_live(size))
