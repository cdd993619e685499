"""The firmware's sources, as this checkout has them and as a wheel would."""

import shutil
from pathlib import Path

import pytest

from scalewright import __version__
from scalewright.errors import InputError
from scalewright.link.firmware_files import Firmware

ROOT = Path(__file__).parents[3]


def test_every_board_gets_its_own_file_and_only_its_own_converter() -> None:
    firmware = Firmware.installed()
    assert firmware.boards
    for board in firmware.boards:
        files = firmware.files_for(board)
        assert files["board.py"].name == f"{board}.py"
        assert {"main.py", "scalewright_device/device.py", "shared_calc/measuring_chain.py"} <= set(files)
        assert [path for path in files if "virtual" in path or path.endswith("interface.py")] == []
        converter = {"rp2_nau7802": "nau7802", "rp2_ads1232": "ads1232"}.get(board, "")
        others = {"nau7802", "ads1232", "hx711"} - {converter}
        if converter:
            assert f"scalewright_device/adc/{converter}.py" in files
            assert [path for path in files for other in others if path.endswith(f"adc/{other}.py")] == []


def test_files_are_the_same_from_a_wheel(tmp_path: Path) -> None:
    """There main.py and choose_version.py lie in the package, as pyproject.toml puts them."""
    here = Firmware.in_checkout(ROOT)
    device = shutil.copytree(here.device_folder, tmp_path / "scalewright_device")
    for name in ("main.py", "choose_version.py"):
        shutil.copyfile(here.root_file(name), device / name)
    wheel = Firmware(device, here.shared_folder)
    assert wheel.boards == here.boards
    for board in here.boards:
        read = [{path: file.read_bytes() for path, file in f.files_for(board).items()} for f in (wheel, here)]
        assert read[0] == read[1]
    assert wheel.root_file("choose_version.py").read_bytes() == here.root_file("choose_version.py").read_bytes()


def test_firmware_and_toolkit_have_one_version() -> None:
    assert Firmware.installed().version == __version__


def test_boards_are_found_by_what_micropython_calls_its_port() -> None:
    """sys.platform is "pyboard" on every board of the stm32 port (MicroPython, ports/stm32/mpconfigport.h)."""
    firmware = Firmware.installed()
    assert "rp2" in firmware.boards_for("rp2")
    assert [name for name in firmware.boards_for("rp2") if not name.startswith("rp2")] == []
    assert firmware.boards_for("pyboard") == [name for name in firmware.boards if name.startswith("stm32")]
    assert firmware.boards_for("webassembly") == []


def test_a_folder_without_firmware_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="scalewright_device: no such folder; expected a checkout"):
        Firmware.in_checkout(tmp_path)
