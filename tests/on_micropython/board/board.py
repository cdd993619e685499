"""A board on the PC: MicroPython's unix port behind repl.py, reached by the name of a serial port.

The port is a pty. That of a board with a UART behind a USB bridge is there as long as it is plugged in. A USB port of
the board's own goes when the board restarts, and another pty comes back: it is behind a symbolic link that stays, as in
/dev/serial/by-id.
"""

import contextlib
import json
import os
import pty
import re
import select
import signal
import subprocess
import threading
import time
import tty
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
BLOCK_BYTES = 4096
RESTART = 3  # as repl.py ends where the program asks for a reset
RP2040 = {
    "platform": "rp2",
    "machine": "Raspberry Pi Pico with RP2040",
    "version": [1, 29, 0, ""],
    "mpy": 6 | 3 << 8 | 4 << 10,  # format 6.3, armv6m, as sys.implementation._mpy has them
    "mounted_at": "/",
    "notes": None,  # the file that takes a note of every change of the flash
}
_INTERRUPTS_APART_S = 0.05  # a second SIGINT while the first is pending ends the unix port


class SimulatedBoard:
    """A board that is plugged in, its flash in `folder`.

    blocks: size of the flash; has_usb: has it a USB port of its own? facts: what differs from RP2040. Its `port` is
    another one each time it is plugged in; `starts` counts how often it has started.
    """

    def __init__(
        self, micropython: list[str], folder: Path, blocks: int = 352, has_usb: bool = False, **facts: Any
    ) -> None:
        self.image = folder / "flash.img"
        self._link = folder / "port" if has_usb else None
        if not self.image.exists():
            self.image.write_bytes(b"\xff" * (blocks * BLOCK_BYTES))
        self._command = [*micropython, str(HERE / "repl.py"), str(folder), json.dumps(RP2040 | facts)]
        self.starts = 0
        self.plug_in()

    def plug_in(self) -> None:
        """Give it power and connect it."""
        self.line: Callable[[bytes], bytes | None] = lambda data: data
        """What reaches the board of what is sent to it; None: the power fails."""
        self._make_port()
        self._start()
        self._supply = threading.Thread(target=self._serve)
        self._supply.start()

    def await_start(self, number: int) -> None:
        """Return once it has started so many times, counted in `starts`, and its port is there."""
        while self.starts < number:
            time.sleep(0.01)

    def unplug(self) -> None:
        """Take power and line away, if that has not happened."""
        while self._supply.is_alive():
            self._process.kill()  # again, where it was just starting anew
            self._supply.join(0.1)

    def unplug_after(self, text: bytes) -> None:
        """Take power and line away as soon as the board has received `text`."""
        received = bytearray()

        def cut(data: bytes) -> bytes | None:
            received.extend(data)
            return None if text in received else data

        self.line = cut

    def _make_port(self) -> None:
        self._port, self._port_end = pty.openpty()
        tty.setraw(self._port_end)
        self.port = os.ttyname(self._port_end)
        if self._link:
            self._link.symlink_to(self.port)
            self.port = str(self._link)

    def _remove_port(self) -> None:
        if self._link:
            self._link.unlink()
        os.close(self._port)
        os.close(self._port_end)

    def _start(self) -> None:
        self._process = subprocess.Popen(
            self._command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0, start_new_session=True
        )
        self._process.stdout.read(1)  # it is ready to be interrupted
        self.starts += 1

    def _stop(self) -> int:
        self._process.stdin.close()
        self._process.stdout.close()
        return self._process.wait()

    def _serve(self) -> None:
        """Carry bytes until the power fails; start again where the program asks for it."""
        while True:
            with contextlib.suppress(BrokenPipeError):  # the interpreter has ended
                while self._carry():
                    pass
            ended = self._stop()
            if ended != RESTART or self._link:
                self._remove_port()
            if ended != RESTART:
                return
            if self._link:
                self._make_port()
            self._start()

    def _carry(self) -> bool:
        """Carry what has come, in both directions. Returns False once nothing runs any more."""
        ready, _, _ = select.select([self._process.stdout, self._port], [], [])
        if self._process.stdout in ready:
            data = self._process.stdout.read(65536)
            if not data:
                return False
            os.write(self._port, data)
        if self._port in ready:
            received = self.line(os.read(self._port, 65536))
            if received is None:
                self._process.kill()
                return False
            self._type(received)
        return True

    def _type(self, data: bytes) -> None:
        """Give bytes to the board; Ctrl-C is an interrupt there, not a byte."""
        for part in re.split(b"(\x03)", data):
            if part == b"\x03":
                self._process.send_signal(signal.SIGINT)
                time.sleep(_INTERRUPTS_APART_S)
            else:
                self._process.stdin.write(part)
