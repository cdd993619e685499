"""Every screen at two sizes, against what is kept in the folder `screens`; SCALEWRIGHT_REWRITE_SCREENS=1 writes it."""

from pathlib import Path

import pytest
from textual.pilot import Pilot

from scalewright.link.ports import Port
from scalewright.terminal.app import BenchApp
from scalewright.terminal.bench import Bench
from scalewright.terminal.plans import Form
from scalewright.terminal.progress import ENDED, HANDS
from scalewright.terminal.screens import SCREENS
from tests.host.terminal.pilot import SIZES, app_at, play, press, text_of, until, until_as_kept, until_it_says
from tests.host.terminal.scenes import PORTS, progress_of, weighing_app, working_app


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


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("key, name", [("3", "calibrate"), ("4", "test")])
def test_the_forms(tmp_path: Path, size: tuple[int, int], key: str, name: str) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await press(pilot, key)
        await until_as_kept(pilot, name)

    play(app_at(tmp_path), steps, size)


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize(
    "answers, state, name", [(10, HANDS, "guided_load"), (60, HANDS, "guided_check"), (-1, ENDED, "guided_end")]
)
def test_a_guided_job(tmp_path: Path, size: tuple[int, int], answers: int, state: str, name: str) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await press(pilot, "3")
        await until_as_kept(pilot, name)

    play(working_app(tmp_path, progress_of(Form().calibration(asks=False), answers, state)), steps, size)


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
