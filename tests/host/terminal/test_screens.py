"""Every screen at two sizes, against what is kept in the folder `screens`; SCALEWRIGHT_REWRITE_SCREENS=1 writes it."""

from pathlib import Path

import pytest
from textual.pilot import Pilot

from scalewright.link.ports import Port
from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench
from scalewright.terminal.screens import SCREENS
from tests.host.terminal.pilot import SIZES, app_at, play, press, text_of, until, until_as_kept, until_it_says
from tests.host.terminal.scenes import PORTS, weighing_app


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("name, ports", [("start", PORTS[1:]), ("start_with_a_board", PORTS)])
def test_the_start_screen_says_what_to_do_next(
    tmp_path: Path, size: tuple[int, int], name: str, ports: list[Port]
) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await until_as_kept(pilot, name)

    play(BenchApp(Bench(tmp_path / "records.sqlite", find_ports=lambda: ports)), steps, size)


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("is_calibrated", [True, False], ids=["calibrated", "uncalibrated"])
def test_weigh(tmp_path: Path, size: tuple[int, int], is_calibrated: bool) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await press(pilot, "2")
        await until_it_says(pilot, "10 a second")
        await until_as_kept(pilot, "weigh" if is_calibrated else "weigh_uncalibrated")

    play(weighing_app(tmp_path, is_calibrated=is_calibrated), steps, size)


def test_in_ascii_the_screen_holds_nothing_else(tmp_path: Path) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await press(pilot, "2")
        await until_it_says(pilot, "10 a second")
        assert [line for line in text_of(pilot).splitlines() if not line.isascii()] == []

    play(weighing_app(tmp_path, is_calibrated=True, is_ascii=True), steps)


@pytest.mark.parametrize("name", SCREENS)
def test_every_screen_has_help_that_escape_closes(tmp_path: Path, name: str) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await press(pilot, SCREENS[name].key, "f1")
        await until_it_says(pilot, f"{SCREENS[name].title}: help")
        await press(pilot, "escape")
        await until(pilot, lambda: "help" not in text_of(pilot).replace("Help", ""))

    play(app_at(tmp_path), steps)
