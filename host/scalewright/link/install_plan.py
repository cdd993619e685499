"""What installing means for one board as it was found: which files go where, and whether it can be."""

from dataclasses import dataclass
from pathlib import PurePosixPath

from scalewright.errors import InputError, ScalewrightError
from scalewright.link.board_state import BoardState
from scalewright.link.bytecode import BoardFile, Image, compile_image
from scalewright.link.firmware_files import Firmware

OLDEST_MICROPYTHON = (1, 22)
BLOCKS_KEPT_FREE = 8  # for the coefficients, which littlefs writes anew at each change
MAIN, KEPT_MAIN = "main.py", "main_kept.py"
_OURS = b'"""Scalewright'  # how choose_version.py begins, whatever its version
_BLOCKS_PER_FOLDER = 2  # a pair of metadata blocks in littlefs
_BLOCKS_FOR_MARKER_AND_MAIN = 2


@dataclass(frozen=True)
class Plan:
    """What is to be done to a board."""

    board: str
    version: str
    image: Image
    folder: str
    """Where it goes."""
    to_copy: tuple[BoardFile, ...]
    """The files that are not there yet."""
    to_remove: tuple[str, ...]
    """What lies in the folder and is not this version's."""
    is_in_use: bool
    """Does the board run just this already?"""
    main: BoardFile
    """What becomes the board's main.py."""
    keeps_main: bool
    """Is there the main.py of another program, to be kept as KEPT_MAIN?"""

    def folders(self) -> list[str]:
        """Return all folders that the files lie in, each after the one it is in."""
        parents = {parent for file in self.image.files for parent in PurePosixPath(self.folder, file.path).parents}
        return sorted(str(parent) for parent in parents - {PurePosixPath(".")})


def plan_for(state: BoardState, board: str | None, firmware: Firmware, port: str) -> Plan:
    """Return what an installation does. board: None for the one in use, or the only one that fits.

    Raises InputError where `board` is wrong, ScalewrightError where the board does not allow an installation.
    """
    _check_micropython(state, port)
    board = _choose_board(state, board, firmware, port)
    image = compile_image(firmware.files_for(board), state.mpy)
    current = state.current()
    is_in_use = current is not None and state.holds(current, image.digest)
    folder = current if current and is_in_use else state.spare()
    wanted = {file.path: file.sha256 for file in image.files}
    present = {path: sha256 for path, (_, sha256) in state.files_in(folder).items()}
    to_copy = tuple(file for file in image.files if present.get(file.path) != file.sha256)
    to_remove = tuple(path for path in present if wanted.get(path) != present[path])
    main = BoardFile(MAIN, firmware.root_file("choose_version.py").read_bytes())
    keeps_main = _keeps_main(state, port)
    plan = Plan(board, firmware.version, image, folder, to_copy, to_remove, is_in_use, main, keeps_main)
    _check_space(state, plan, port)
    return plan


def check_board_name(board: str, firmware: Firmware) -> None:
    """Raises InputError where there is no board file of that name."""
    if board not in firmware.boards:
        raise InputError(f"--board {board}: no such board; expected one of {', '.join(firmware.boards)}")


def _check_micropython(state: BoardState, port: str) -> None:
    seen = f"{state.implementation} {'.'.join(map(str, state.micropython))} on {state.machine}"
    if state.implementation != "micropython" or state.micropython[:2] < OLDEST_MICROPYTHON:
        raise ScalewrightError(
            f"{port}: expected MicroPython {'.'.join(map(str, OLDEST_MICROPYTHON))} or later; seen: {seen}",
            "put a newer MicroPython on the board first, from micropython.org/download; the files on it may be lost",
        )


def _choose_board(state: BoardState, board: str | None, firmware: Firmware, port: str) -> str:
    fitting = firmware.boards_for(state.platform)
    seen = f"{state.machine} (sys.platform {state.platform!r})"
    if board is not None:
        if board not in fitting:
            fit = f"leave --board out, or give {' or '.join(fitting)}" if fitting else "is this the right port?"
            raise InputError(f"{port}: --board {board} does not fit; seen: {seen}", remedy=fit)
        return board
    if not fitting:
        raise ScalewrightError(
            f"{port}: expected a board there is a file for: {', '.join(firmware.boards)}; seen: {seen}",
            "is this the right port? A file for a new board goes into firmware/scalewright_device/boards",
        )
    in_use = state.in_use()
    if in_use and in_use.board in fitting:
        return in_use.board
    if len(fitting) > 1:
        raise InputError(f"{port}: several board files fit {seen}", remedy=f"give --board {' or '.join(fitting)}")
    return fitting[0]


def _keeps_main(state: BoardState, port: str) -> bool:
    keeps = MAIN in state.root and not state.main_begins.startswith(_OURS)
    if keeps and KEPT_MAIN in state.root:
        raise ScalewrightError(
            f"{port}: expected no {KEPT_MAIN}, for that will keep another program's {MAIN}; seen: both on the board",
            f"remove one: mpremote connect {port} rm :/{KEPT_MAIN}",
        )
    return keeps


def _check_space(state: BoardState, plan: Plan, port: str) -> None:
    block = state.block_bytes
    present = state.files_in(plan.folder)
    needed = sum(-(-len(file.content) // block) for file in plan.to_copy)
    needed += 0 if plan.folder in state.versions else _BLOCKS_PER_FOLDER * len(plan.folders())
    needed += 0 if plan.is_in_use else _BLOCKS_FOR_MARKER_AND_MAIN + BLOCKS_KEPT_FREE
    free = state.free_blocks + sum(present[path][0] // block for path in plan.to_remove)
    if free < needed:
        raise ScalewrightError(
            f"{port}: expected {needed * block // 1024} kB free for this version; seen: {free * block // 1024} kB",
            f"remove what you do not need: mpremote connect {port} tree -s :/ shows what there is",
        )
