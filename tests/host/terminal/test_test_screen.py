"""Tests of a scale by keyboard, and the daily check."""

from pathlib import Path

from textual.pilot import Pilot
from textual.widgets import Input

from scalewright.link.scale import Scale
from scalewright.terminal.widgets.tick_list import TickList
from tests.host.terminal.pilot import app_at, play, press, until_it_says
from tests.host.terminal.scenes import two_point_calibrated

# 100 mm to the right the load weighs 0.4 % more: a corner error that no class III scale of 3000 e may have.
BAD_CORNER = "cell_corner_x_per_mm=0.00004"


def url_of(folder: Path, options: str = "") -> str:
    """Return where there is a calibrated virtual scale."""
    storage = f"storage={folder / 'virtual_scale'}{options}"
    with Scale.open(f"virtual://plover?speed=0&{storage}") as scale:
        two_point_calibrated(scale)
    return f"virtual://plover?speed=20&{storage}"


async def go_to_test(pilot: "Pilot[None]") -> None:
    await until_it_says(pilot, "still")
    await press(pilot, "4")
    await until_it_says(pilot, "D is the daily")
    pilot.app.screen.query_one("#readings", Input).value = "4"


def test_the_daily_check_takes_two_keys(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await go_to_test(pilot)
        await press(pilot, "d")
        await until_it_says(pilot, "A: it does all the rest")
        await press(pilot, "a")
        await until_it_says(pilot, "PASS: the scale is within its limits")
        await until_it_says(pilot, "error at 2000 g")

    play(app_at(tmp_path, url_of(tmp_path)), steps)


def test_a_corner_error_is_found_and_named(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await go_to_test(pilot)
        pilot.app.screen.query_one(TickList).tick({"eccentricity"})
        await press(pilot, "enter")
        await until_it_says(pilot, "A: it does all the rest")
        await press(pilot, "a")
        await until_it_says(pilot, "FAIL: beyond its limits")
        await until_it_says(pilot, "! corner error")

    play(app_at(tmp_path, url_of(tmp_path, f"&{BAD_CORNER}")), steps)


def test_a_scale_that_is_not_calibrated_is_not_tested(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await until_it_says(pilot, "raw counts")
        await press(pilot, "4")
        await until_it_says(pilot, "D is the daily")
        await press(pilot, "d")
        await until_it_says(pilot, "the scale is not calibrated. Press 3")

    play(app_at(tmp_path, "virtual://plover?speed=20"), steps)


def test_a_set_ticks_its_tests_with_a_sign_that_needs_no_colour(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await press(pilot, "4")
        await until_it_says(pilot, "[x] repeatability")
        pilot.app.screen.query_one(TickList).focus()
        await press(pilot, "down", "space")
        await until_it_says(pilot, "[ ] repeatability")

    play(app_at(tmp_path), steps)
