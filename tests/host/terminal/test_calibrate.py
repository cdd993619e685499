"""A whole calibration by keyboard, and everything that may come between."""

import asyncio
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from scalewright.records.journal import Journal
from scalewright.terminal.bench import Bench
from tests.host.terminal.pilot import answer, app_at, play, press, text_of, until, until_it_says

URL = "virtual://plover?speed=20&seed=1729"


def bench_of(pilot: "Pilot[None]") -> Bench:
    bench: Bench = pilot.app.bench  # type: ignore[attr-defined]
    return bench


def kinds_in(records: Path) -> list[str]:
    with Journal(records, read_only=True) as journal:
        assert journal.verify().holds
        return [entry.kind for entry in journal.entries()]


async def begin_a_short_one(pilot: "Pilot[None]", steps: str = "2") -> None:
    """Begin with few loads and readings, to be quick."""
    await until_it_says(pilot, "live")
    await press(pilot, "3")
    await until_it_says(pilot, "Begin")
    pilot.app.screen.query_one("#steps", Input).value = steps
    pilot.app.screen.query_one("#readings", Input).value = "4"
    await press(pilot, "enter")
    await until_it_says(pilot, "Put 3000 g on the scale")


async def ask_the_scale(pilot: "Pilot[None]", command: str) -> None:
    live = bench_of(pilot).live
    assert live is not None
    await asyncio.wrap_future(live.ask(command))


def test_from_the_empty_start_screen_to_a_calibrated_scale_by_keyboard(tmp_path: Path) -> None:
    """What is pressed is what the screens say to press."""

    async def steps(pilot: "Pilot[None]") -> None:
        await until_it_says(pilot, "Press Enter to try everything on the virtual scale")
        await press(pilot, "enter")
        await until_it_says(pilot, "Press 3 to calibrate")
        await press(pilot, "3")
        await until_it_says(pilot, "Press Enter to begin")
        await press(pilot, "enter")
        await until_it_says(pilot, "A: it does all the rest")
        await press(pilot, "a")
        await until_it_says(pilot, "PASS: the scale is within its limits")
        await until_it_says(pilot, "21 within")
        await press(pilot, "2")
        await until_it_says(pilot, "Max 3000 g   d = 1 g")
        assert bench_of(pilot).is_calibrated

    play(app_at(tmp_path), steps)
    kinds = kinds_in(tmp_path / "records.sqlite")
    assert (kinds[0], kinds[-1]) == ("job.begun", "job.ended")


def test_a_person_is_led_load_by_load_and_sees_each_result_beside_its_limit(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await begin_a_short_one(pilot)
        loads = (
            "Put 3000 g",
            "Clear the pan",
            "Clear the pan",
            "Put 1500 g",
            "Put 3000 g",
            "Put 1500 g",
            "Clear the pan",
        )
        for readings, words in enumerate(loads):
            await until_it_says(pilot, f"{readings} of 12 readings")
            await until(pilot, lambda: "Enter: the virtual hand does it" in text_of(pilot))
            assert words in text_of(pilot)
            await press(pilot, "enter")
        await until_it_says(pilot, "✓ adjustment")
        await press(pilot, "a")
        await until_it_says(pilot, "PASS: the scale is within its limits")
        await until_it_says(pilot, "error at 1500 g, up")

    play(app_at(tmp_path, URL), steps)


def test_a_job_that_is_left_goes_on_where_it_stood_another_day(tmp_path: Path) -> None:
    url = f"{URL}&storage={tmp_path / 'virtual_scale'}"

    async def first_day(pilot: "Pilot[None]") -> None:
        await begin_a_short_one(pilot)
        await press(pilot, "enter")
        await until_it_says(pilot, "1 of 12 readings")
        await press(pilot, "p")
        await until_it_says(pilot, "Paused.")
        await press(pilot, "q")

    async def another_day(pilot: "Pilot[None]") -> None:
        await until_it_says(pilot, "live")
        await press(pilot, "3")
        await until_it_says(pilot, "Not finished yet")
        pilot.app.screen.query_one("#open_jobs").focus()
        await press(pilot, "enter")
        await until_it_says(pilot, "1 of 12 readings")
        await press(pilot, "a")
        await until_it_says(pilot, "PASS: the scale is within its limits")

    play(app_at(tmp_path, url), first_day)
    play(app_at(tmp_path, url), another_day)
    assert kinds_in(tmp_path / "records.sqlite").count("job.begun") == 1


def test_losing_the_cable_pauses_the_job_and_it_goes_on_by_itself(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await begin_a_short_one(pilot)
        await press(pilot, "enter")
        await until_it_says(pilot, "1 of 12 readings")
        live = bench_of(pilot).live
        assert live is not None
        live.ask("VIRTual:POWer:CUT 0")
        live.ask("CALibration:SEAL ON")
        await until_it_says(pilot, "line lost, trying again")
        await until(pilot, lambda: "live" in text_of(pilot) and "Put 3000 g" in text_of(pilot))
        await press(pilot, "a")
        await until_it_says(pilot, "PASS: the scale is within its limits")

    play(app_at(tmp_path, f"{URL}&storage={tmp_path / 'virtual_scale'}"), steps)


def test_a_reading_that_cannot_be_right_is_refused_with_its_reason_and_taken_again(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await begin_a_short_one(pilot)
        await ask_the_scale(pilot, "VIRTual:FAULt SATurated")
        await press(pilot, "enter")
        await until_it_says(pilot, "The device reports SATURATED")
        await ask_the_scale(pilot, "VIRTual:FAULt NONE")
        await press(pilot, "enter")
        await until_it_says(pilot, "1 of 12 readings")

    play(app_at(tmp_path, URL), steps)


def test_a_reading_is_repeated_with_a_reason_that_the_records_keep(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await begin_a_short_one(pilot)
        await press(pilot, "enter")
        await until_it_says(pilot, "1 of 12 readings")
        await answer(pilot, "r", "Why is the last reading to be repeated", "draught")
        await until_it_says(pilot, "0 of 12 readings")
        await until_it_says(pilot, "Put 3000 g on the scale")

    play(app_at(tmp_path, URL), steps)
    with Journal(tmp_path / "records.sqlite", read_only=True) as journal:
        (withdrawn,) = journal.entries(kind="job.withdrawn")
    assert withdrawn.body["reason"] == "draught"


@pytest.mark.parametrize("value, words", [("0", "expected a mass in grams above 0"), ("3", "begins at 100 e")])
def test_what_is_wrong_with_the_form_is_said_while_it_is_filled_in(tmp_path: Path, value: str, words: str) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await press(pilot, "3")
        await until_it_says(pilot, "Begin")
        pilot.app.screen.query_one("#max_g", Input).value = value
        await until_it_says(pilot, words)

    play(app_at(tmp_path), steps)
