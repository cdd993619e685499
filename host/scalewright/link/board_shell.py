"""A board's prompt and its file system, by way of mpremote.

mpremote runs in a process of its own, for its classes are no stable interface. It waits for a prompt and, where none
comes, has one sentence for ten causes; so the prompt is brought about here first, and each way of failing is told with
what was expected, what was seen and what to try.
"""

import ast
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from itertools import cycle
from pathlib import Path
from typing import Any

import serial

from scalewright.errors import LinkError
from scalewright.link.bytecode import BoardFile
from scalewright.link.ports import find_ports, open_port

PROMPT = b">>> "
PORT_TIMEOUT_S = 2.0
"""Long enough for a board that restarts."""
PROMPT_TIMEOUT_S = 7.0
"""Long enough for one that restarts when it is interrupted, because of its watchdog."""
COMMAND_TIMEOUT_S = 30.0
SLOWEST_BYTES_PER_S = 500
RESULT = "=> "  # begins the line with a program's result, whatever else is printed
_END_LINE, _INTERRUPT, _LEAVE_RAW_PROMPT = b"\r", b"\x03", b"\x02"  # MicroPython's control characters
_TRY_AGAIN_S = 0.5
_CALLS_BETWEEN = 5  # two interrupts
_TRY_PORT_AGAIN_S = 0.1

Say = Callable[[str], None]
Step = str | BoardFile
"""A program, or a file to be written at its path from the root."""

_RESET = "press the board's reset button and try again"
_LOST = "check cable and power, then do it again: a version that is not whole is never started"
_REMEDIES = {  # what mpremote says, and what to do about it
    "failed to access": "check that the board is plugged in and that no other program has its port open",
    "Input/output error": _LOST,
    "SerialException": _LOST,
    "PermissionError": _LOST,  # a port that went away, on Windows
    "ENOSPC": "the board's file system is full: remove what you do not need with mpremote rm",
    "OSError: 28": "the board's file system is full: remove what you do not need with mpremote rm",
    "MemoryError": "the board has too little memory: leave out what its boot.py starts",
    "No module named mpremote": "pip install mpremote",
}


class BoardSilent(LinkError):
    """The board did not finish in time what it was told."""


class BoardShell:
    """The prompt of the board at `port`. Every method raises LinkError, with the cause and the remedy."""

    def __init__(self, port: str) -> None:
        self.port = port

    def await_port(self, timeout_s: float = PORT_TIMEOUT_S) -> None:
        """Wait until the port is there and can be opened."""
        deadline = time.monotonic() + timeout_s
        while True:
            try:
                open_port(self.port).close()
                return
            except LinkError:
                if time.monotonic() > deadline:
                    raise
                time.sleep(_TRY_PORT_AGAIN_S)

    def interrupt(self, timeout_s: float = PROMPT_TIMEOUT_S) -> None:
        """Interrupt what runs on the board, until its prompt stands there.

        A board that restarts when it is interrupted is left alone for a while: a second interrupt could come between
        its start and what it has to do before it stays at its prompt.
        """
        deadline = time.monotonic() + timeout_s
        calls = cycle([_END_LINE + _INTERRUPT + _LEAVE_RAW_PROMPT, *[_END_LINE + _LEAVE_RAW_PROMPT] * _CALLS_BETWEEN])
        seen = b""
        while time.monotonic() < deadline and not seen.endswith(PROMPT):
            try:
                with open_port(self.port) as port:
                    port.timeout = _TRY_AGAIN_S
                    while time.monotonic() < deadline and not seen.endswith(PROMPT):
                        port.write(next(calls))
                        seen = (seen + port.read_until(PROMPT))[-200:]
            except (serial.SerialException, OSError, LinkError):
                time.sleep(_TRY_PORT_AGAIN_S)  # it restarts, or is gone for good
        if not seen.endswith(PROMPT):
            raise self._no_prompt(seen, timeout_s)

    def evaluate(self, program: str, expected: str, timeout_s: float = COMMAND_TIMEOUT_S) -> Any:
        """Run a MicroPython program that prints RESULT and a literal. Returns that. expected: what it is for.

        It begins, as `perform` does, with nothing loaded of what ran before.
        """
        return self.perform([program], expected, timeout_s)[0]

    def perform(
        self, steps: Sequence[Step], expected: str, timeout_s: float = COMMAND_TIMEOUT_S, say: Say | None = None
    ) -> list[Any]:
        """Run programs and write files, in order, until one fails. Returns the programs' results.

        The folders of the files are there. `say` is told each file as it begins.
        """
        files = [step for step in steps if isinstance(step, BoardFile)]
        begun = iter(enumerate(files, 1))

        def name_file(line: str) -> None:
            if say and line.startswith("cp "):
                k, file = next(begun)
                say(f"{k:4}/{len(files)} {file.path}, {len(file.content)} bytes")

        with tempfile.TemporaryDirectory() as staging:
            words = [word for step in steps for word in ("+", *_command(step, Path(staging)))]
            copying_s = sum(len(file.content) for file in files) / SLOWEST_BYTES_PER_S
            lines = self._run(words[1:], expected, timeout_s + copying_s, name_file)
        results = [ast.literal_eval(line.removeprefix(RESULT)) for line in lines if line.startswith(RESULT)]
        if len(results) < len(steps) - len(files):
            raise self._failed(expected, "\n".join(lines), _RESET)
        return results

    def restart(self) -> None:
        """Restart the board, as its reset button does."""
        self._run(["reset"], "the board to restart", COMMAND_TIMEOUT_S, lambda line: None)

    def _run(self, words: Sequence[str], expected: str, timeout_s: float, each_line: Say) -> list[str]:
        """Run mpremote, which begins with a soft reset, and return the lines it printed."""
        command = [sys.executable, "-m", "mpremote", "connect", self.port, *words]
        lines = []
        with subprocess.Popen(
            command,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
        ) as process:
            timer = threading.Timer(timeout_s, process.kill)
            timer.start()
            try:
                for line in process.stdout or ():
                    lines.append(line.rstrip())
                    each_line(lines[-1])
            except BaseException:
                process.kill()
                raise
            finally:
                timed_out = timer.finished.is_set()
                timer.cancel()
        if timed_out:
            raise self._failed(f"{expected} within {timeout_s:g} s", "\n".join(lines[-1:]), _RESET, BoardSilent)
        if process.returncode:
            raise self._refused(expected, lines)
        return lines

    def _refused(self, expected: str, lines: Sequence[str]) -> LinkError:
        """Return the error for what mpremote printed before it ended with an error."""
        said = [line for line in lines if line.startswith("mpremote: ")] or [line for line in lines if line.strip()]
        everything = "\n".join(lines)
        remedy = next((remedy for mark, remedy in _REMEDIES.items() if mark in everything), _RESET)
        return self._failed(expected, said[-1] if said else "", remedy)

    def _no_prompt(self, seen: bytes, timeout_s: float) -> LinkError:
        if seen:
            remedy = "is this another device's port? A program that does not end at Ctrl-C ends at the board's reset"
        else:
            ports = ", ".join(port.url for port in find_ports() if "://" not in port.url) or "none"
            remedy = f"is this the board's port, and MicroPython on the board? Ports seen: {ports}"
        expected = f"MicroPython's prompt {PROMPT.decode()!r} within {timeout_s:g} s"
        return self._failed(expected, repr(seen[-80:]) if seen else "", remedy)

    def _failed(self, expected: str, seen: str, remedy: str, kind: type[LinkError] = LinkError) -> LinkError:
        return kind(f"expected {expected}; seen: {seen.strip() or 'nothing'}", port=self.port, remedy=remedy)


def _command(step: Step, staging: Path) -> list[str]:
    """Return mpremote's words for a step."""
    if isinstance(step, str):
        return ["exec", step]
    local = staging / step.path.replace("/", "_")
    local.write_bytes(step.content)
    return ["cp", "-f", str(local), f":{step.path}"]
