"""The register of masses by keyboard."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from scalewright.equipment import MassSet
from scalewright.records.journal import Journal
from scalewright.records.registers import find
from scalewright.register_files import render_mass_set
from scalewright.terminal.screens.masses import MassesScreen
from tests.host.terminal.laboratory import BOX, copy_to, laboratory
from tests.host.terminal.pilot import SIZES, play, press, text_of, until, until_as_kept, until_it_says
from tests.host.terminal.test_records_screen import app_of, open_screen, retype


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_sets_are_listed_with_the_days_that_are_left(size: tuple[int, int]) -> None:
    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "6", "OVERDUE 104 days")
        await until_as_kept(pilot, "masses")

    play(app_of(laboratory()), steps, size)


def test_a_piece_tells_the_values_it_has_had_and_whether_they_agree() -> None:
    """-0.0014 g over sqrt(0.0080**2 + 0.0080**2) g is -0.12: ISO 13528:2015, 9.7 (E_n), by hand."""

    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "6", "BOX-F2")
        screen = pilot.app.screen
        assert isinstance(screen, MassesScreen)
        await press(pilot, "down")
        await until(pilot, lambda: screen.found is not None and screen.masses.key == "BOX-F2")
        await press(pilot, "h")
        await until_it_says(pilot, "The history of which piece?")
        await press(pilot, "enter")
        await until_it_says(pilot, "-0.0014 -0.12  agrees")

    play(app_of(laboratory()), steps)


def test_a_set_is_added_by_form_and_nothing_typed_is_lost_by_a_mistake(tmp_path: Path) -> None:
    records = tmp_path / "records.sqlite"

    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "6", "No reference masses are registered here yet")
        await press(pilot, "a")
        await until_it_says(pilot, "A new set")
        await press(pilot, *"SET-1", "enter", *"200 200* 1O0", "enter", *"F1", "ctrl+s")
        await until_it_says(pilot, "initials ''; expected 2 to 4 letters")
        await press(pilot, *["enter"] * 8, *"km", "ctrl+s")
        await until_it_says(pilot, "nominal, g: '1O0' found")
        await press(pilot, *["up"] * 9)
        retype(pilot, "200 200* 100")
        await press(pilot, "ctrl+s")
        await until_it_says(pilot, "SET-1: kept, by KM.")

    play(app_of(records), steps)
    with Journal(records) as journal:
        masses = find(journal, MassSet, "SET-1")
    assert [(piece.name, piece.nominal_g) for piece in masses.pieces] == [
        ("200", Decimal(200)), ("200*", Decimal(200)), ("100", Decimal(100)),
    ]  # fmt: skip
    assert {piece.weight_class for piece in masses.pieces} == {"F1"}


def test_a_file_takes_the_place_of_the_values_before(tmp_path: Path) -> None:
    records, file = copy_to(tmp_path), tmp_path / "box.csv"
    assert BOX.certificate is not None
    paper = replace(BOX.certificate, number="SM-27-0099", on=date(2027, 3, 1), due=date(2029, 3, 1))
    file.write_text(render_mass_set(replace(BOX, certificate=paper)))

    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "6", "BOX-F2")
        await press(pilot, "i")
        await until_it_says(pilot, "A set from a file")
        retype(pilot, str(file))
        await press(pilot, "enter", *"km", "enter", *"recalibrated", "enter")
        await until_it_says(pilot, "2029-03-01    in 717 days")  # of 2027-03-15: 292 + 366 + 59

    play(app_of(records), steps)


def test_records_that_may_not_be_written_are_read_and_say_so(tmp_path: Path) -> None:
    records = copy_to(tmp_path)

    async def steps(pilot: "Pilot[None]") -> None:
        await open_screen(pilot, "6", "BOX-F2")
        records.rename(tmp_path / "elsewhere")
        records.mkdir()
        await press(pilot, "a")
        await until_it_says(pilot, "A new set")
        for name, text in (("key", "SET-1"), ("pieces", "200"), ("class", "F1"), ("by", "km")):
            pilot.app.screen.query_one(f"#cell-{name}", Input).value = text
        await press(pilot, "ctrl+s")
        await until_it_says(pilot, "Not kept:")
        assert "SET-1" in text_of(pilot)

    play(app_of(records), steps)
