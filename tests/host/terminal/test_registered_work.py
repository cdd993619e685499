"""Jobs by keyboard with what is registered: a scale, masses that are overdue, and who goes on all the same."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

from textual.pilot import Pilot
from textual.widgets import Input, Select

from scalewright.composition import compose
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.job import Circumstances, Override, Story
from scalewright.records.journal import Journal
from scalewright.records.registers import put
from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench
from tests.host.terminal.laboratory import BOX, PLOVER
from tests.host.terminal.pilot import play, press, text_of, until, until_it_says

URL = f"virtual://{PLOVER.serial_number}?speed=20&seed=1729"
LATE = date(2027, 7, 1)
SENTENCE = "mass set BOX-F2 was due on 2027-06-03, today is 2027-07-01"


def app_with_registers(folder: Path) -> BenchApp:
    """Return the app on the day after the certificate of the masses has run out."""
    with Journal(folder / "records.sqlite") as journal:
        put(journal, PLOVER, "KM", "first registered")
        put(journal, BOX, "KM", "first registered")
    return BenchApp(Bench(folder / "records.sqlite", today=lambda: LATE), URL)


def begun(folder: Path) -> list[Story]:
    """Return every job in the records."""
    with Journal(folder / "records.sqlite", read_only=True) as journal:
        names = [entry.job for entry in journal.entries(kind="job.begun")]
        return [Story.of(journal.entries(job=name), name) for name in names]


async def fill_in(pilot: "Pilot[None]", key: str, **typed: str) -> None:
    """Go to a form, choose the mass set there and fill in the rest."""
    await until_it_says(pilot, "live")
    await press(pilot, key)
    await until_it_says(pilot, "Registered scale")
    await until(pilot, lambda: pilot.app.screen.query_one("#scale", Select).value == PLOVER.key)
    pilot.app.screen.query_one("#masses", Select).value = BOX.key
    for name, text in typed.items():
        pilot.app.screen.query_one(f"#{name}", Input).value = text


def says(pilot: "Pilot[None]", sentence: str) -> Callable[[], bool]:
    """Return whether a sentence is on the screen, however its words are set in lines within a frame."""
    return lambda: sentence in " ".join(text_of(pilot).replace("│", " ").split())


def test_overdue_masses_stop_the_work_until_a_reason_is_given_which_the_job_keeps(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await fill_in(pilot, "3", steps="2", readings="4", by="ts")
        await press(pilot, "enter")
        await until(pilot, says(pilot, SENTENCE))
        await press(pilot, *"none other", "enter")
        await until_it_says(pilot, "A: it does all the rest")
        await press(pilot, "a")
        await until_it_says(pilot, "PASS: the scale is within its limits")

    play(app_with_registers(tmp_path), steps)
    (job,) = begun(tmp_path)
    overrides = (Override("mass overdue", SENTENCE, "none other"),)
    assert job.circumstances == Circumstances("PLOVER", "TS", ("BOX-F2",), (), overrides)
    assert job.name.startswith("PLOVER:Calibration:")
    assert isinstance(job.plan, Calibration)
    assert job.plan.adjustment is not None
    up = [compose(BOX, Decimal(nominal)) for nominal in ("1500", "3000")]
    assert [load for load in job.plan.adjustment.loads if load.load_g][:2] == up
    assert up[0].pieces == ("1000", "500")
    assert job.end is not None


def test_escape_leaves_a_job_unbegun_and_so_does_a_load_that_cannot_be_put_together(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await fill_in(pilot, "3", steps="10")
        await press(pilot, "enter")
        await until(pilot, says(pilot, "300 g cannot be put together from mass set BOX-F2: 500, 1000, 2000"))
        pilot.app.screen.query_one("#steps", Input).value = "2"
        await until(pilot, lambda: not pilot.app.screen.query_one("#begin").has_class("-active"))  # no longer held down
        await press(pilot, "enter")
        await until(pilot, says(pilot, SENTENCE))
        await press(pilot, "escape")
        await until_it_says(pilot, "Not begun.")

    play(app_with_registers(tmp_path), steps)
    assert begun(tmp_path) == []
