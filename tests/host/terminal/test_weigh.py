"""Weighing by keyboard on the virtual scale."""

import asyncio
from pathlib import Path

from textual.pilot import Pilot

from scalewright.link.scale import Scale
from scalewright.terminal.widgets.large_number import LargeNumber
from tests.host.terminal.pilot import answer, app_at, play, press, text_of, until, until_it_says
from tests.host.terminal.scenes import two_point_calibrated


def calibrated_url(folder: Path) -> str:
    """Return where there is a virtual scale that keeps the coefficients it is given here."""
    storage = f"storage={folder / 'virtual_scale'}"
    with Scale.open(f"virtual://plover?speed=0&{storage}") as scale:
        two_point_calibrated(scale)
    return f"virtual://plover?speed=20&{storage}"


def shown(pilot: "Pilot[None]") -> str:
    number = pilot.app.screen_stack[0].query_one(LargeNumber)
    return f"{number.text} {number.unit}"


async def put(pilot: "Pilot[None]", load_g: str) -> None:
    await answer(pilot, "l", "on the virtual pan, in grams", load_g)
    await until_it_says(pilot, f"{load_g} g is on the virtual pan")
    await until_it_says(pilot, "still")


def test_zero_tare_and_units_by_keyboard(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await until(pilot, lambda: shown(pilot) in ("0 g", "-0 g"))
        await put(pilot, "500")
        await until(pilot, lambda: shown(pilot) == "500 g")
        await press(pilot, "t")
        await until(pilot, lambda: shown(pilot) == "0 g" and "NET" in text_of(pilot))
        await put(pilot, "1500")
        await until(pilot, lambda: shown(pilot) == "1000 g")
        await press(pilot, "x")
        await until(pilot, lambda: shown(pilot) == "1500 g" and "gross" in text_of(pilot))
        await answer(pilot, "u", "Show the indication in", "tola")
        await until(pilot, lambda: shown(pilot) == "128.6 tola")  # 1500 g / 11.6638038 g = 128.60
        await answer(pilot, "u", "Show the indication in", "carat")
        await until(pilot, lambda: shown(pilot) == "7500 ct")  # a carat is 0.2 g: 4th CGPM, 1907

    play(app_at(tmp_path, calibrated_url(tmp_path)), steps)


def test_pieces_are_counted_once_it_is_said_how_many_there_are(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await put(pilot, "500")
        await until(pilot, lambda: shown(pilot) == "500 g")
        await answer(pilot, "p", "How many equal pieces", "20")
        await until(pilot, lambda: shown(pilot) == "20 pcs")
        await put(pilot, "750")
        await until(pilot, lambda: shown(pilot) == "30 pcs")

    play(app_at(tmp_path, calibrated_url(tmp_path)), steps)


def test_what_the_scale_refuses_is_said_with_its_reason(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await put(pilot, "500")
        await until(pilot, lambda: shown(pilot) == "500 g")
        await press(pilot, "z")
        await until_it_says(pilot, "further than 4 % of Max from zero")

    play(app_at(tmp_path, calibrated_url(tmp_path)), steps)


def test_a_fault_is_named_with_what_to_check_first_and_no_mass_is_shown(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await until(pilot, lambda: "still" in text_of(pilot))
        live = pilot.app.bench.live  # type: ignore[attr-defined]
        await asyncio.wrap_future(live.ask("VIRTual:FAULt SATurated"))
        await until_it_says(pilot, "Check first")

    play(app_at(tmp_path, calibrated_url(tmp_path)), steps)


def test_a_lost_line_is_said_and_weighing_goes_on_when_the_scale_is_back(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await put(pilot, "500")
        live = pilot.app.bench.live  # type: ignore[attr-defined]
        live.ask("VIRTual:POWer:CUT 0")
        live.ask("CALibration:SEAL ON")
        await until_it_says(pilot, "line lost, trying again")
        await until(pilot, lambda: "live" in text_of(pilot) and shown(pilot) == "0 g")

    play(app_at(tmp_path, calibrated_url(tmp_path)), steps)
