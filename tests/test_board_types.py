"""The check of the firmware's types sees what a port does not have."""

from pathlib import Path

import pytest

from tests import board_types
from tests.on_micropython.runtimes import IS_REQUIRED


@pytest.mark.skipif(
    not IS_REQUIRED and (bool(board_types.missing()) or not board_types.CHECKER_IS_INSTALLED),
    reason="left out: pip install basedpyright, and run python tests/board_types.py --install",
)
def test_a_call_that_the_port_does_not_know_is_found(tmp_path: Path) -> None:
    file = tmp_path / "board.py"
    file.write_text("import time\nfrom machine import Pin\nPin(1).valeu()\ntime.ticks_ms()\ntime.monotonic()\n")
    places = [problem.split(": ")[0] for problem in board_types.check("stm32", [file])]
    assert places == [f"{file}:3", f"{file}:5"]
    file.write_text("import rp2\n")
    assert board_types.check("rp2", [file]) == []
    assert len(board_types.check("stm32", [file])) == 1


def test_each_board_file_belongs_to_a_port() -> None:
    files = {port: set(board_types.files_of(port)) for port in board_types.PORTS}
    everything = set(board_types.DEVICE.rglob("*.py"))
    assert set.union(*files.values()) == everything
    boards = {file for file in everything if file.parent.name == "boards"} - set.intersection(*files.values())
    assert all(sum(file in some for some in files.values()) == 1 for file in boards)
