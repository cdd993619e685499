"""Following imports: what a board file reaches is taken with all it imports, what it only could reach is not."""

from pathlib import Path

import pytest

from scalewright.link.imports import Reached

SOURCES = {
    "scalewright_device": "",
    "scalewright_device.boards": "",
    "scalewright_device.boards.parts": """
from scalewright_device.console import Console
def slow(pin):
    from scalewright_device.slow import Slow
    return Slow(pin)
def quick(pin):
    from scalewright_device.quick import Quick
    return Quick(pin)
def board(adc):
    return Console(adc)
""",
    "scalewright_device.boards.plain": """
from machine import Pin
from scalewright_device.boards import parts
def slow():
    return parts.slow(Pin(1))
def quick():
    return parts.quick(Pin(1))
def assemble(adc=slow):
    return parts.board(adc())
""",
    "scalewright_device.boards.plain_quick": """
from scalewright_device.boards import plain
def assemble():
    return plain.assemble(adc=plain.quick)
""",
    "scalewright_device.boards.plain_quick_by_place": """
from scalewright_device.boards import plain as base
def assemble():
    return base.assemble(base.quick)
""",
    "scalewright_device.console": "import sys\n",
    "scalewright_device.slow": "from shared_calc import curve\n",
    "scalewright_device.quick": "def later():\n    import shared_calc.rounding\n",
    "shared_calc": "",
    "shared_calc.curve": "",
    "shared_calc.rounding": "",
}
ALWAYS = {"scalewright_device", *(f"scalewright_device.{name}" for name in ("boards", "boards.parts", "console"))}


@pytest.fixture
def reached(tmp_path: Path) -> Reached:
    for name, source in SOURCES.items():
        (tmp_path / name).write_text(source)
    return Reached(lambda module: tmp_path / module if module in SOURCES else None)


def test_the_default_part_is_taken_where_the_board_file_names_no_other(reached: Reached) -> None:
    reached.take_board("scalewright_device.boards.plain")
    own = {"scalewright_device.boards.plain", "scalewright_device.slow", "shared_calc", "shared_calc.curve"}
    assert set(reached.files) == ALWAYS | own


@pytest.mark.parametrize("name", ["plain_quick", "plain_quick_by_place"])
def test_a_part_given_in_place_of_the_default_is_taken_alone(reached: Reached, name: str) -> None:
    reached.take_board(f"scalewright_device.boards.{name}")
    own = {f"scalewright_device.boards.{name}", "scalewright_device.boards.plain", "scalewright_device.quick"}
    assert set(reached.files) == ALWAYS | own | {"shared_calc", "shared_calc.rounding"}


def test_outside_the_board_files_all_imports_count_and_foreign_ones_are_left_alone(reached: Reached) -> None:
    reached.take("scalewright_device.quick.later")
    reached.take("machine.Pin")
    assert set(reached.files) == {
        "scalewright_device",
        "scalewright_device.quick",
        "shared_calc",
        "shared_calc.rounding",
    }
