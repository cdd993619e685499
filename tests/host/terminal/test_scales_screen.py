"""The register of scales by keyboard."""

from decimal import Decimal
from pathlib import Path

import pytest
from textual.pilot import Pilot

from scalewright.equipment import RegisteredScale
from scalewright.records.journal import Journal
from scalewright.records.registers import find, history
from tests.host.terminal.laboratory import laboratory
from tests.host.terminal.pilot import SIZES, app_at, play, press, text_of, until, until_as_kept, until_it_says
from tests.host.terminal.test_records_screen import app_of, open_screen
from tests.host.terminal.test_weigh import calibrated_url


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_scales_are_listed_with_the_days_that_are_left(size: tuple[int, int]) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "7", "OVERDUE 23 days")
        await press(pilot, "end")
        await until_it_says(pilot, "e Change")
        await until_as_kept(pilot, "scales")

    play(app_of(laboratory()), steps, size)


def test_the_due_list_holds_everything_the_most_urgent_first() -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "7", "OVERDUE 23 days")
        await press(pilot, "d")
        await until_it_says(pilot, "What is due")
        listed = text_of(pilot).partition("on 2027-03-15")[2]
        words = ("OVERDUE 104 days", "OVERDUE 23 days", "CHECK", "in 18 days", "BOX-F2", "T-1", "in 330 days")
        places = [listed.index(word) for word in words]
        assert places == sorted(places)

    play(app_of(laboratory()), steps)


def test_the_connected_scale_is_registered_by_one_key_and_initials_and_seen_again(tmp_path: Path) -> None:
    app = app_at(tmp_path, calibrated_url(tmp_path))

    async def steps(pilot: "Pilot[None]") -> None:
        await until(pilot, lambda: app.bench.is_live)
        await open_screen(pilot, "7", "No scale is registered here yet")
        await press(pilot, "s")
        await until_it_says(pilot, "The connected scale")
        await press(pilot, *"km", "ctrl+s")
        await until_it_says(pilot, "plover: kept, by KM.")
        await press(pilot, "s")
        await until_it_says(pilot, "plover is registered")
        await press(pilot, "ctrl+s")
        await until(pilot, lambda: len(_history(app.bench.records)) == 2)

    play(app, steps)
    with Journal(app.bench.records) as journal:
        scale = find(journal, RegisteredScale, "plover")
    assert (scale.max_g, scale.d_g, scale.serial_number) == (Decimal(3000), Decimal(1), "plover")
    assert scale.seen is not None
    assert (scale.seen.events, scale.seen.sealed) == (1, False)


def _history(records: Path) -> list[object]:
    with Journal(records, read_only=True) as journal:
        return list(history(journal, RegisteredScale, "plover"))
