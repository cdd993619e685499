"""A real MicroPython 1.9.2 on an emulated ARM Cortex-M0: single-precision floats, 31-bit small ints, 9.4 kB of heap."""

import ast
import os
import re
import select
import subprocess
import time

from tests.on_micropython.runtimes import ROOT

BYTES_IN_FLIGHT = 16  # the board keeps up to 63 and drops the rest without a word, so each piece waits for its echo
PASTE, END = b"\x05", b"\x04"  # Ctrl-E, Ctrl-D
PASTE_PROMPT, PROMPT = b"=== ", b">>> "
FINISHED = b"\x06\r\n"  # printed after the statements, so it is missing where one of them raised
MICROSECONDS_PER_INSTRUCTION = 0.064  # -icount shift=6


class BoardError(Exception):
    """What the board ran ended in an exception; the text is its traceback."""


class CortexM0:
    """The board's REPL in paste mode, which echoes what it receives: so nothing is lost, however busy this machine is.

    Close it always: the emulator runs a processor core at full load until it is ended.
    """

    def __init__(self, command: list[str]) -> None:
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=0
        )
        self._received = b""
        try:
            self._wait_for(PROMPT)
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """End the emulator."""
        self._process.kill()
        self._process.communicate()

    def reset(self) -> None:
        """Soft reset: an empty heap and no globals."""
        self._send(END)
        self._wait_for(PROMPT)

    def run(self, source: str, timeout_s: float = 60) -> str:
        """Run statements and return what they printed. Raises BoardError."""
        data = source.encode("ascii") + b"\nprint('\\x06')"
        self._send(PASTE)
        self._wait_for(PASTE_PROMPT)
        for start in range(0, len(data), BYTES_IN_FLIGHT):
            piece = data[start : start + BYTES_IN_FLIGHT]
            self._send(piece)
            self._wait_for(piece)
        self._send(END)
        answer = self._wait_for(PROMPT, timeout_s).removeprefix(b"\r\n").removesuffix(PROMPT)
        printed = answer.removesuffix(FINISHED)
        if printed == answer:
            raise BoardError(answer.decode())
        return printed.decode().replace("\r\n", "\n")

    def load(self, *modules: str, without: tuple[str, ...] = ()) -> None:
        """Define what is in these modules of shared_calc as globals of the board; `without`: names left out.

        One statement at a time, since the parse tree of a whole file does not fit the heap; the statements are those
        of the file, without docstrings, comments and the imports between the modules.
        """
        for module in modules:
            for statement in _statements((ROOT / "shared_calc" / f"{module}.py").read_text(), without):
                self.run(f"import gc\ngc.collect()\n{statement}")

    def free_bytes(self) -> int:
        """Return the bytes of heap that are free after a collection."""
        return int(self.run("import gc\ngc.collect()\nprint(gc.mem_free())"))

    def _send(self, data: bytes) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(data)

    def _wait_for(self, mark: bytes, timeout_s: float = 20) -> bytes:
        assert self._process.stdout is not None
        deadline = time.monotonic() + timeout_s
        while mark not in self._received:
            if not select.select([self._process.stdout], [], [], max(0, deadline - time.monotonic()))[0]:
                raise TimeoutError(f"the board sent {self._received[-200:]!r}, expected {mark!r} within {timeout_s} s")
            data = os.read(self._process.stdout.fileno(), 4096)
            if not data:
                raise EOFError("the emulator ended")
            self._received += data
        answer, _, self._received = self._received.partition(mark)
        return answer + mark


def _statements(source: str, without: tuple[str, ...]) -> list[str]:
    tree = ast.parse(source)
    for node in (tree, *(statement for statement in tree.body if isinstance(statement, ast.ClassDef))):
        node.body = [statement for statement in node.body if _name(statement) not in without]
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node) is not None:
            node.body = node.body[1:] or [ast.Pass()]
    wanted = [
        statement
        for statement in tree.body
        if not (isinstance(statement, ast.ImportFrom) and (statement.module or "").startswith("shared_calc"))
    ]
    return [re.sub(r"(?m)^( {4})+", lambda indent: " " * (len(indent[0]) // 4), ast.unparse(s)) for s in wanted]


def _name(statement: ast.stmt) -> str | None:
    """Return the name of the one class, function or constant that a statement defines."""
    match statement:
        case ast.FunctionDef(name=name) | ast.ClassDef(name=name) | ast.Assign(targets=[ast.Name(id=name)]):
            return name
    return None
