"""Parts to build a device from, joined in memory; they run on CPython and on MicroPython."""

from scalewright_device.board import Board
from scalewright_device.device import Device
from scalewright_device.event_log import SIZE as _LOG_BYTES
from scalewright_device.two_slots import SLOT_OVERHEAD
from shared_calc import coefficient_record, link_frame
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.curve import Curve, quantise

SLOT_BYTES = 4 + coefficient_record.SIZE + 4  # sequence number, record, CRC-32
EVENT_BYTES = _LOG_BYTES + SLOT_OVERHEAD  # of a slot of the event log, which is written before
TICKS = 1 << 30  # where the ticks of a MicroPython board wrap
NO_SUCH_FILE = 2
NO_SPACE = 28


class Console:
    """A serial line in memory: what the device is to read, and what it has written while somebody took it."""

    def __init__(self):
        self._input = bytearray()
        self._taken = 0
        self._output = ""
        self.is_taken = True

    def type(self, data):
        """Add bytes for the device to read."""
        if self._taken == len(self._input):
            self._input = bytearray()
            self._taken = 0
        self._input.extend(data)

    def waiting(self):
        """Return how many bytes the device has not read yet."""
        return len(self._input) - self._taken

    def lines(self):
        """Return the lines that the device has written since the last call."""
        lines = self._output.split("\r\n")
        self._output = ""
        assert lines.pop() == "", "a line without its end"
        return lines

    def read_byte(self):
        if self._taken == len(self._input):
            return None
        self._taken += 1
        return self._input[self._taken - 1]

    def write(self, text):
        if self.is_taken:
            self._output += text


class Adc:
    """An ADC that gives the conversions a test lists: counts, or None for one read against its timing limits."""

    def __init__(self, settling_readings=0):
        self.settling_readings = settling_readings
        self.is_valid = True
        self.conversions = []
        self.restarts = 0

    def restart(self):
        self.restarts += 1

    def is_ready(self):
        return len(self.conversions) > 0

    def read(self):
        counts = self.conversions.pop(0)
        self.is_valid = counts is not None
        return counts or 0


class Switch:
    """The switch that opens the seal."""

    def __init__(self):
        self.has_hand = False

    def is_held(self):
        return self.has_hand


class Clock:
    """Time that passes when a test says so; its ticks wrap as a board's do."""

    def __init__(self, start_ms=0):
        self.now_ms = start_ms

    def ticks_ms(self):
        return self.now_ms % TICKS

    def ticks_us(self):
        return self.now_ms * 1000 % TICKS

    def ticks_diff(self, a, b):
        return (a - b + TICKS // 2) % TICKS - TICKS // 2

    def sleep_us(self, microseconds):
        raise AssertionError("the device waited")


class Folder:
    """Files in memory: a file being written dies, and with it the power, once `bytes_left` more bytes are written.

    Opening a file for writing empties it. At `bytes_left` 0 the next write or close fails; None: nothing fails.
    """

    def __init__(self):
        self.files = {}
        self.bytes_left = None

    def open(self, name, mode):
        if mode == "wb":
            self.files[name] = b""
        elif name not in self.files:
            raise OSError(NO_SUCH_FILE, name)
        return _File(self, name, mode == "wb")


class _File:
    def __init__(self, folder, name, is_written):
        self._folder = folder
        self._name = name
        self._is_written = is_written

    def __enter__(self):
        return self

    def __exit__(self, kind, error, trace):
        self.close()

    def close(self):
        if self._is_written and self._folder.bytes_left == 0:
            raise OSError(NO_SPACE, self._name)

    def read(self, size):
        return self._folder.files[self._name][:size]

    def write(self, data):
        folder = self._folder
        landed = data if folder.bytes_left is None else data[: folder.bytes_left]
        folder.files[self._name] += landed
        if folder.bytes_left is not None:
            folder.bytes_left -= len(landed)
        if len(landed) < len(data):
            raise OSError(NO_SPACE, self._name)


class Bench:
    """A device with its parts at hand."""

    def __init__(self, folder=None, settling_readings=0, open_file=None, path="", commands=(), has_switch=True):
        self.console = Console()
        self.switch = Switch() if has_switch else None
        self.adc = Adc(settling_readings)
        self.clock = Clock()
        self.folder = folder or Folder()
        board = Board(
            name="bench",
            serial_number="0001",
            adc=self.adc,
            console=self.console,
            clock=self.clock,
            idle=lambda is_busy: None,
            folder=path,
            open=open_file or self.folder.open,
            commands=commands,
            opening_switch=self.switch,
        )
        self.device = Device(board)

    def run(self):
        """Let the device do all that is waiting."""
        while self.device.step():
            pass

    def convert(self, *counts):
        """Let the ADC give these conversions, 100 ms apart."""
        for one in counts:
            self.clock.now_ms += 100
            self.adc.conversions.append(one)
            self.run()

    def ask(self, line):
        """Return the lines that answer a bare line."""
        self.console.lines()
        self.console.type(line.encode() + b"\n")
        self.run()
        return self.console.lines()

    def ask_framed(self, sequence, command):
        """Return the (sequence, text) of the frames that answer a framed request."""
        return [link_frame.decode(line) for line in self.ask(link_frame.encode(sequence, command))]

    def state(self):
        """Return what only a valid command may change."""
        device = self.device
        return (device.store.data, device.store.sequence, device.is_streaming, device.is_busy)


def record(number):
    """Return the encoded coefficients of an invented scale, one of many: division 0.1 g, Max 3000 g, rising `number`.

    1000 + number counts a gram, zero at -2000 counts.
    """
    per_division = 1000 + number  # counts in 10 divisions
    curve = quantise([20000, 10], per_division, 0, 0)
    return coefficient_record.encode(CoefficientRecord(curve, 1, -1, 30000))


def falling_record():
    """Return coefficients of a cell wired the other way round: a heavier load gives fewer counts; d = 5 g."""
    return coefficient_record.encode(CoefficientRecord(Curve(0, 0, 12, (-(1 << 28), 0)), 5, 0, 600))
