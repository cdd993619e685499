"""The history of a scale by keyboard: its chart, its drift, and when it is due next."""

import pytest
from textual.pilot import Pilot

from scalewright.plots.chart import Chart
from scalewright.plots.history import control_charts, error_chart
from scalewright.records.history import read_history
from scalewright.records.journal import Journal
from scalewright.terminal.widgets.chart_view import key_to, points_of
from tests.host.terminal.laboratory import laboratory
from tests.host.terminal.pilot import SIZES, play, press, text_of, until, until_as_kept, until_it_says
from tests.host.terminal.test_records_screen import app_of, open_screen


async def open_plover(pilot: "Pilot[None]") -> None:
    await open_screen(pilot, "8", "PLOVER")
    await press(pilot, "end", "enter")
    await until_it_says(pilot, "Daily checks at 1000 g")


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_scales_are_listed_the_most_urgent_first_and_one_without_a_history_says_so(size: tuple[int, int]) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "8", "PLOVER")
        await press(pilot, "down", "enter")
        await until_it_says(pilot, "now: there is none in these records")
        await until_as_kept(pilot, "drift_without_a_history")

    play(app_of(laboratory()), steps, size)


def test_what_is_out_of_the_ordinary_is_drawn_and_told_in_words() -> None:
    """The checked mass is 0.35 g heavier for the last six checks: far beyond three times the scatter, within ±2 g."""

    async def steps(pilot: "Pilot[None]") -> None:
        await open_plover(pilot)
        await until_it_says(pilot, "OUT OF CONTROL: beyond 3 sd (above), EWMA (above)")
        await until_it_says(pilot, "±2 g: ✓ within")
        await until(pilot, lambda: text_of(pilot).count("▲") == 1 + 6)  # the key, and the six
        await press(pilot, "g")
        await until_it_says(pilot, "Moving average (EWMA) at 1000 g")
        await press(pilot, "g")
        await until_it_says(pilot, "from calibration to calibration")
        await press(pilot, "end")
        await until_it_says(pilot, "staircase (ILAC-G24:2022 / OIML D 10:2022, 6.2)")

    play(app_of(laboratory()), steps)


def test_what_is_told_is_what_the_history_says() -> None:
    """The cell gives 0.045 % more at the second calibration: 1.35 g at 3 kg."""

    async def steps(pilot: "Pilot[None]") -> None:
        await open_plover(pilot)
        with Journal(laboratory(), read_only=True) as journal:
            history = read_history(journal, "PLOVER")
        full = max(history.periods[0].drifts, key=lambda drift: drift.found.load_g)
        assert full.drift_g == pytest.approx(1.35, abs=0.05)
        await press(pilot, "end")
        await until_it_says(pilot, f"{full.drift_g:+.2f}")
        assert history.proposal is not None
        await until_it_says(pilot, f"by {history.proposal.due}, the earliest of")

    play(app_of(laboratory()), steps, (132, 60))


def test_each_kind_of_point_has_a_sign_of_its_own() -> None:
    with Journal(laboratory(), read_only=True) as journal:
        history = read_history(journal, "PLOVER")
    charts: list[Chart] = [*control_charts(history.charts()[0]), *error_chart(history.calibrations)]
    assert [key_to(chart) for chart in charts] == [
        "● checks   ▲ signal   ── control limits",
        "● EWMA   ▲ signal   ── control limits",
        "● as found   ▲ as left   ── tolerance",
    ]
    assert all(len(points_of(chart)) <= 3 for chart in charts)
