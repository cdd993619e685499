"""`scalewright install` for real: mpremote, over a serial port, on a board made of MicroPython's unix port.

The real firmware is installed, upgraded, cut short and put back. littlefs2 in the board's flash is the one that
MicroPython runs on boards.
"""

import io
import json
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, redirect_stderr, redirect_stdout, suppress
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from scalewright.command_line.main import run
from scalewright.errors import LinkError, ScalewrightError
from scalewright.link.board_shell import BoardShell
from scalewright.link.board_state import BoardState, inspect
from scalewright.link.firmware_files import Firmware
from scalewright.link.installer import install
from scalewright.link.ports import open_port
from scalewright.link.scale import Identity, Scale
from tests.firmware.parts import record
from tests.on_micropython import runtimes
from tests.on_micropython.board.board import SimulatedBoard

ROOT = Path(__file__).parents[2]
ON_MICROPYTHON = ROOT / "tests/on_micropython"
DEVICE = "firmware/scalewright_device"
SERIAL_NUMBER = "514D000000000007"  # as machine.unique_id of the simulated board has it
BLOCKS = 160
ANOTHER_PROGRAM = 'import time\nwhile True:\n    print("another program is at work")\n    time.sleep_ms(20)\n'
RESTARTS = """
import machine, os, time
if "note" in os.listdir():
    time.sleep_ms(1000)
    os.remove("note")
else:
    try:
        while True:
            print("at work")
            time.sleep_ms(10)
    except KeyboardInterrupt:
        open("note", "w").close()
        machine.reset()
"""
ASSEMBLE = """
import sys
sys.path.insert(0, "/version_a")
import board, scalewright_device.device
board.assemble()
ours = [name for name in sys.modules if name.split(".")[0] in ("scalewright_device", "shared_calc")]
print("=> " + repr(ours))
"""
STM32 = {"platform": "pyboard", "machine": "PYBv1.1 with STM32F405RG", "mounted_at": "/flash", "has_usb": True}

PlugIn = Callable[..., SimulatedBoard]
NewFolder = Callable[[], Path]


@dataclass(frozen=True)
class Stage:
    """A board's flash at some stage, what the command that led there printed, and what the board then answered."""

    image: Path
    result: dict[str, Any]
    progress: str
    identity: Identity


@pytest.fixture(scope="module")
def micropython() -> list[str]:
    return runtimes.command_or_skip(runtimes.UNIX_PORT)


@pytest.fixture(scope="module")
def new_folder(tmp_path_factory: pytest.TempPathFactory) -> NewFolder:
    return lambda: tmp_path_factory.mktemp("install")


@contextmanager
def plugged_in(command: list[str], folder: Path, image: Path | None = None, **facts: Any) -> Iterator[SimulatedBoard]:
    """A board, new or with the flash of a stage."""
    if image is not None:
        shutil.copyfile(image, folder / "flash.img")
    board = SimulatedBoard(command, folder, **{"blocks": BLOCKS, **facts})
    try:
        yield board
    finally:
        board.unplug()


@pytest.fixture
def plug_in(micropython: list[str], tmp_path: Path) -> Iterator[PlugIn]:
    with ExitStack() as stack:
        yield lambda image=None, **facts: stack.enter_context(plugged_in(micropython, tmp_path, image, **facts))


class Command(NamedTuple):
    """How a command ended, and what it printed."""

    exit_code: int
    out: str
    err: str


def scalewright(*words: str) -> Command:
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        exit_code = run(words)
    return Command(exit_code, out.getvalue(), err.getvalue())


def mpremote(board: SimulatedBoard, *words: str) -> None:
    """Use mpremote as a person does."""
    command = [sys.executable, "-m", "mpremote", "connect", board.port, *words]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def installed(board: SimulatedBoard, *words: str) -> tuple[dict[str, Any], str]:
    """Install, or go back, and return the result and the progress that were printed."""
    done = scalewright("install", "--port", board.port, "--json", *words)
    assert done.exit_code == 0, done.err
    return json.loads(done.out), done.err


def refused(board: SimulatedBoard, *words: str) -> tuple[int, str]:
    """Install in vain. Returns the exit code and the last line that was printed."""
    done = scalewright("install", "--port", board.port, *words)
    assert done.out == ""
    return done.exit_code, done.err.splitlines()[-1]


def identity_of(board: SimulatedBoard) -> Identity:
    """Return what it answers; where it is about to restart, afterwards."""
    for _ in range(5):
        BoardShell(board.port).await_port()
        with suppress(LinkError), Scale.open(board.port, 1.0) as scale:
            return scale.identity
    raise AssertionError("it does not answer")


def state_of(board: SimulatedBoard) -> BoardState:
    shell = BoardShell(board.port)
    shell.interrupt()
    return inspect(shell)


def checkout(folder: Path, version: str, **changes: tuple[str, str]) -> Path:
    """Make a checkout of a later version. changes: file of the device → (text, text in its place)."""
    for name in ("firmware", "shared_calc"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name, (old, new) in {"command_table": ('VERSION = "0.1.0"', f'VERSION = "{version}"'), **changes}.items():
        file = folder / DEVICE / f"{name}.py"
        source = file.read_text(encoding="utf-8")
        assert old in source, name
        file.write_text(source.replace(old, new), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def first(micropython: list[str], new_folder: NewFolder) -> Stage:
    """0.1.0 installed on a board on which another program ran; coefficients stored twice since."""
    with plugged_in(micropython, new_folder()) as board:
        (board.image.parent / "other.py").write_text(ANOTHER_PROGRAM)
        mpremote(board, "cp", str(board.image.parent / "other.py"), ":main.py", "+", "reset")
        board.await_start(2)
        result, progress = installed(board, "--board", "rp2")
        with Scale.open(board.port, 1.0) as scale:
            scale.store_coefficients(record(1))
            scale.store_coefficients(record(2))
            identity = scale.identity
    return Stage(board.image, result, progress, identity)


@pytest.fixture(scope="module")
def second(micropython: list[str], new_folder: NewFolder, first: Stage) -> Stage:
    """0.2.0 installed beside it, with notes of every change of the flash."""
    folder = new_folder()
    with plugged_in(micropython, folder, first.image, notes=str(folder / "notes")) as board:
        result, progress = installed(board, "--firmware", str(checkout(folder / "checkout", "0.2.0")))
        identity = identity_of(board)
    return Stage(board.image, result, progress, identity)


def test_one_command_interrupts_what_runs_and_the_board_answers_as_a_scale(first: Stage) -> None:
    assert first.result["version"] == "0.1.0"
    assert first.result["version_before"] is None
    assert first.result["serial_number"] == first.identity.serial_number == SERIAL_NUMBER
    assert first.result["coefficients"] == "none"
    assert first.result["format"] == "mpy 6.3"
    assert first.result["kept_main"] == "main_kept.py"
    sizes = {file["path"]: file["bytes"] for file in first.result["files"]}
    assert first.result["copied_bytes"] == sum(sizes.values())
    for path, size in sizes.items():
        assert f" {path}, {size} bytes\n" in first.progress.replace(f"/{first.result['folder']}/", "")


def test_only_what_the_board_needs_is_copied(first: Stage, plug_in: PlugIn) -> None:
    """Compared with what the board has imported once its parts are put together."""
    board = plug_in(first.image)
    shell = BoardShell(board.port)
    shell.interrupt()
    loaded = set(shell.evaluate(ASSEMBLE, "the modules"))
    copied = {module_of(file["path"]) for file in first.result["files"]}
    assert loaded <= copied
    assert {name for name in copied - loaded if ".adc." in name or ".boards." in name or "virtual" in name} == set()


def module_of(path: str) -> str:
    return path.removesuffix(".mpy").removesuffix("/__init__").replace("/", ".")


def test_an_upgrade_keeps_coefficients_and_serial_number_and_can_be_taken_back(
    first: Stage, second: Stage, plug_in: PlugIn
) -> None:
    assert second.result["version"] == second.identity.firmware == "0.2.0"
    assert second.result["version_before"] == "0.1.0"
    assert second.result["board"] == "rp2"  # as the version before
    assert second.result["folder"] != first.result["folder"]
    assert second.identity.coefficients == first.identity.coefficients == second.result["coefficients"]
    assert second.identity.events == first.identity.events == 2
    board = plug_in(second.image)
    back, _ = installed(board, "--back")
    assert (back["version"], back["version_before"], back["folder"]) == ("0.1.0", "0.2.0", first.result["folder"])
    assert identity_of(board) == first.identity
    with Scale.open(board.port, 1.0) as scale:
        assert scale.read_coefficients() == record(2)
    assert state_of(board).root["main_kept.py"][0] == len(ANOTHER_PROGRAM)


def test_wherever_the_power_goes_the_board_starts_a_whole_version_and_keeps_its_coefficients(
    micropython: list[str], first: Stage, second: Stage
) -> None:
    """Cut at every change of the flash in an upgrade, the change half done or done."""
    notes = second.image.parent / "notes"
    words = ["-X", "heapsize=16M", str(ON_MICROPYTHON / "install_power_cut.py")]
    done = subprocess.run(
        [*micropython, *words, first.image, notes, ROOT / "firmware/choose_version.py"],
        env={"MICROPYPATH": f"{ROOT}:.frozen"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    started = done.stdout.splitlines()
    print(f"{len(started)} power cuts")
    assert len(started) > 250
    assert [line for line, _ in groupby(started)] == [started[0], started[-1]]  # the old one, then the new one
    assert started[0].split()[0] == f"/{first.result['folder']}"
    assert started[-1].split()[0] == f"/{second.result['folder']}"


def test_unplugged_while_it_copies_the_old_version_goes_on_and_the_next_try_only_copies_the_rest(
    first: Stage, plug_in: PlugIn, tmp_path: Path
) -> None:
    board = plug_in(first.image)
    newer = str(checkout(tmp_path / "checkout", "0.2.0"))
    files = [file["path"] for file in first.result["files"]]
    for path in (files[len(files) // 2], "installed.txt"):
        board.unplug_after(f"/version_b/{path}','wb')".encode())
        code, message = refused(board, "--firmware", newer)
        assert (code, "check cable and power" in message) == (3, True)
        board.unplug()
        board.plug_in()
        assert identity_of(board) == first.identity
    code, message = refused(board, "--back")
    assert (code, "version before this one; seen: none" in message) == (3, True)
    result, _ = installed(board, "--firmware", newer)
    assert result["version"] == identity_of(board).firmware == "0.2.0"
    assert result["copied_bytes"] == 0


def test_a_byte_that_arrives_damaged_is_found_and_the_old_version_goes_on(
    first: Stage, second: Stage, plug_in: PlugIn, tmp_path: Path
) -> None:
    board = plug_in(second.image)
    board.line = lambda data: data.replace(b"0.3.0", b"0.3.1")
    code, message = refused(board, "--firmware", str(checkout(tmp_path / "checkout", "0.3.0")))
    assert (code, "scalewright_device/command_table.mpy differs" in message) == (3, True)
    assert identity_of(board) == second.identity


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("import MeasuringChain", "import MeasuringChains"), "load and be put into use; seen: ImportError: "),
        (("while True:", "while 1 / 0:"), "expected it to start; seen: ZeroDivisionError: "),
        (("CoefficientStore(board.folder", 'CoefficientStore("/version_a/"'), "coefficients none"),
    ],
    ids=["it cannot be loaded", "it does not start", "it does not find the coefficients"],
)
def test_a_version_that_does_not_do_is_replaced_by_the_one_before(
    change: tuple[str, str], says: str, second: Stage, plug_in: PlugIn, tmp_path: Path
) -> None:
    board = plug_in(second.image)
    newer = Firmware.in_checkout(checkout(tmp_path / "checkout", "0.3.0", device=change))
    with pytest.raises(ScalewrightError) as raised:
        install(board.port, None, newer, print, restart_timeout_s=1)
    assert says in str(raised.value)
    assert identity_of(board) == second.identity


@pytest.mark.parametrize(
    ("facts", "words", "code", "says"),
    [
        ({"platform": "esp32"}, ["--board", "rp2"], 2, "--board rp2 does not fit; seen: Raspberry Pi Pico with RP2040"),
        ({"version": [1, 21, 0, ""]}, [], 3, "expected MicroPython 1.22 or later; seen: micropython 1.21.0 on"),
        ({"platform": "nrf52"}, [], 3, "expected a board there is a file for: "),
    ],
    ids=["wrong board", "MicroPython too old", "no board file"],
)
def test_a_board_that_does_not_fit_is_left_as_it_was(
    facts: dict[str, Any], words: list[str], code: int, says: str, first: Stage, plug_in: PlugIn
) -> None:
    board = plug_in(first.image, **facts)
    found_code, message = refused(board, *words)
    assert found_code == code
    assert says in message
    assert identity_of(board) == first.identity


def test_a_program_that_restarts_the_board_when_interrupted_is_given_the_time(plug_in: PlugIn) -> None:
    """As one must that has started a watchdog: it leaves itself a note to stay away after the restart."""
    board = plug_in(has_usb=True)
    shell = BoardShell(board.port)
    shell.interrupt()
    shell.evaluate(f"with open('main.py', 'w') as file:\n print('=>', file.write({RESTARTS!r}))", "a program")
    shell.restart()
    board.await_start(2)
    with open_port(board.port) as port:
        port.read_until(b"at work")
    shell.interrupt()
    assert shell.evaluate("import os\nprint('=>', os.listdir())", "its files") == ["main.py"]


def test_a_device_whose_watchdog_runs_is_reached_by_way_of_a_restart(
    second: Stage, plug_in: PlugIn, tmp_path: Path
) -> None:
    """The device restarts without its watchdog, which would bite in the middle of a copy (maintenance.py)."""
    board = plug_in(second.image, has_usb=True)
    changes = {"watchdog": ("_HEALTHY_MS = 10000", "_HEALTHY_MS = 0"), "boards/rp2": ("=None):", "=8000):")}
    installed(board, "--firmware", str(checkout(tmp_path / "checkout", "0.3.0", **changes)))
    with Scale.open(board.port, 1.0) as scale:
        scale.read()
    starts = board.starts
    back, _ = installed(board, "--back")
    assert (back["version_before"], back["version"]) == ("0.3.0", "0.2.0")
    assert board.starts == starts + 2  # into its prompt, and into the version before


def test_too_little_space_is_said_before_anything_is_written(first: Stage, plug_in: PlugIn, tmp_path: Path) -> None:
    board = plug_in(first.image)
    shell = BoardShell(board.port)
    shell.interrupt()
    shell.evaluate("with open('/recording.csv', 'wb') as file:\n print('=>', file.write(bytes(300000)))", "a file")
    before = inspect(shell)
    code, message = refused(board, "--firmware", str(checkout(tmp_path / "checkout", "0.2.0")))
    assert code == 3
    assert "kB free for this version; seen: " in message
    assert state_of(board) == before


def test_an_stm32_board_has_it_all_in_its_flash_folder(plug_in: PlugIn) -> None:
    board = plug_in(**STM32)
    result, _ = installed(board, "--board", "stm32")
    assert (result["version"], result["folder"], result["kept_main"]) == ("0.1.0", "version_a", None)
    state = state_of(board)
    assert state.here == "/flash/"
    assert set(state.root) == {"main.py"}


def test_a_micropython_without_bytecode_gets_sources_and_the_reason_is_said(first: Stage, plug_in: PlugIn) -> None:
    board = plug_in(first.image, mpy=None)
    done = scalewright("install", "--port", board.port, "--dry-run")
    assert done.exit_code == 0, done.err
    assert " shared_calc/curve.py\n" in done.out
    assert "copied as sources: this MicroPython was built without support for .mpy files" in done.out


def test_what_is_no_board_is_told_from_one(tmp_path: Path) -> None:
    gone = scalewright("install", "--port", str(tmp_path / "port"))
    assert (gone.exit_code, "ports seen: " in gone.err) == (3, True)
    unknown = scalewright("install", "--port", "virtual://bench")
    assert (unknown.exit_code, "expected a board's device name" in unknown.err) == (2, True)
