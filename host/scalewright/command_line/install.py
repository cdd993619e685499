"""`scalewright install`: the firmware onto a board, beside the version that runs there; and back."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from scalewright.errors import InputError
from scalewright.link.board_state import BoardState
from scalewright.link.bytecode import NEWEST_FORMAT, Image, compile_image
from scalewright.link.firmware_files import Firmware
from scalewright.link.install_plan import KEPT_MAIN, Plan, check_board_name
from scalewright.link.installer import Installation, go_back, install, preview


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", metavar="PORT", help="device name, such as /dev/ttyACM0 or COM3")
    parser.add_argument("--board", metavar="B", help="its board file; needed only where several fit")
    parser.add_argument("--back", action="store_true", help="put the version before into use again")
    parser.add_argument("--dry-run", action="store_true", help="list what would be copied; --port or --board will do")
    parser.add_argument("--firmware", metavar="FOLDER", help="a checkout to install from; default: what came with this")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Install, go back or list."""
    _check(arguments)
    firmware = Firmware.in_checkout(Path(arguments.firmware)) if arguments.firmware else Firmware.installed()
    if arguments.board:
        check_board_name(arguments.board, firmware)
    if arguments.dry_run:
        _list(arguments, firmware)
        return 0
    port = arguments.port
    done = go_back(port, _say) if arguments.back else install(port, arguments.board, firmware, _say)
    print(json.dumps(_as_json(port, done)) if arguments.json else _sentence(port, done))
    return 0


def _check(arguments: argparse.Namespace) -> None:
    if arguments.back and (arguments.dry_run or arguments.board or arguments.firmware):
        raise InputError("--back goes with --port alone: what it puts back is on the board already")
    if not arguments.port and not (arguments.dry_run and arguments.board):
        raise InputError("--port is missing", remedy="scalewright ports lists them")
    if "://" in (arguments.port or ""):
        raise InputError(f"--port {arguments.port}: expected a board's device name, such as /dev/ttyACM0 or COM3")


def _list(arguments: argparse.Namespace, firmware: Firmware) -> None:
    """Print what an installation would copy."""
    if arguments.port:
        state, plan = preview(arguments.port, arguments.board, firmware)
        image, facts = plan.image, _state_as_json(arguments.port, state) | _plan_as_json(plan)
        is_new = {file.path for file in plan.to_copy}.__contains__
    else:
        image, is_new = compile_image(firmware.files_for(arguments.board), NEWEST_FORMAT), lambda path: True
        facts = {"board": arguments.board, "version": firmware.version, **_image_as_json(image)}
    if arguments.json:
        print(json.dumps(facts))
        return
    for file in image.files:
        print(f"{len(file.content):8}  {file.path}{'' if is_new(file.path) else '  (there already)'}")
    size = sum(len(file.content) for file in image.files)
    print(f"{size:8}  bytes in {len(image.files)} files: {firmware.version} for {facts['board']}, {image.format}")
    print(*image.notes, sep="\n", end="")


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _sentence(port: str, done: Installation) -> str:
    identity = done.identity
    before = f", before that {done.version_before}" if done.version_before else ""
    kept = f"\nThe main.py of another program is now {KEPT_MAIN}." if done.plan and done.plan.keeps_main else ""
    coefficients = "no coefficients yet" if identity.coefficients == "none" else f"coefficients {identity.coefficients}"
    return (
        f"{port} answers as version {identity.firmware}{before}; "
        f"serial number {identity.serial_number}, {coefficients}{kept}"
    )


def _as_json(port: str, done: Installation) -> dict[str, Any]:
    identity = done.identity
    return {
        **_state_as_json(port, done.state),
        **(_plan_as_json(done.plan) if done.plan else {}),
        "folder": done.folder,
        "version": identity.firmware,
        "version_before": done.version_before,
        "serial_number": identity.serial_number,
        "coefficients": identity.coefficients,
    }


def _state_as_json(port: str, state: BoardState) -> dict[str, Any]:
    return {
        "port": port,
        "machine": state.machine,
        "micropython": ".".join(map(str, state.micropython)),
        "free_bytes": state.free_blocks * state.block_bytes,
    }


def _plan_as_json(plan: Plan) -> dict[str, Any]:
    return {
        "board": plan.board,
        "version": plan.version,
        "folder": plan.folder,
        "copied_bytes": sum(len(file.content) for file in plan.to_copy),
        "kept_main": KEPT_MAIN if plan.keeps_main else None,
        **_image_as_json(plan.image),
    }


def _image_as_json(image: Image) -> dict[str, Any]:
    return {
        "format": image.format,
        "notes": image.notes,
        "files": [{"path": file.path, "bytes": len(file.content), "sha256": file.sha256} for file in image.files],
    }
