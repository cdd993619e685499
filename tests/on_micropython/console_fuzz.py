"""Runs on MicroPython: random and mutated lines through a whole device, beside an account of what they may change.

The account is kept by this file's own few rules and its own list of spellings, not by the device's command table.
"""

import gc
import random
import time

from shared_calc import link_frame
from tests.firmware.parts import Bench, record

RECORDS = [record(number) for number in range(4)]
LINES_BETWEEN_CHECKS = 50

_SEEDS = ["*IDN?", "*TST?", "*OPC?", "*RST", "*CLS", "READ?", "FETC?", "FETCh?", "FETC:COUN?", "FETCh:COUNts?"]
_SEEDS += ["INIT:CONT?", "INITiate:CONTinuous?", "INIT:CONT", "INIT:CONT ON", "INIT:CONT 1", "INITiate:CONTinuous OFF"]
_SEEDS += ["SYST:ERR?", ":SYSTem:ERRor?", "SYST:HELP:HEAD?", "SYSTem:HELP:HEADers?"]
_SEEDS += ["DIAG?", "SYST:EVEN?", "SYSTem:MISHaps?"]
_SEEDS += ["CAL:SEAL?", "CAL:SEAL ON", "CAL:SEAL OFF", "CAL:VER?", "CAL:VER REJ"]
_SEEDS += ["CAL:DATA?", "CALibration:DATA?", "CAL:DATA"] + ['CAL:DATA "%s"' % data.hex() for data in RECORDS]
_SEEDS += ['CAL:DATA "%s"' % RECORDS[0].hex().replace("00", "0 0", 1)]
_STREAM_HEADERS = ("INIT:CONT", "INITIATE:CONT", "INIT:CONTINUOUS", "INITIATE:CONTINUOUS")
_DATA_HEADERS = ("CAL:DATA", "CALIBRATION:DATA")
_PRINTABLE = [chr(code) for code in range(32, 127)]


class Account:
    """What the device must hold after the lines so far."""

    def __init__(self):
        self.data = None
        self.sequence = 0
        self.is_streaming = False
        self._last_request = None

    def take(self, line):
        """Note what a line, without its end, asks for. Returns whether it may go without an answer at once."""
        if len(line) > 160 or [byte for byte in line if not 32 <= byte <= 126]:
            return False
        text = line.decode()
        if "~" not in text:
            return self._take_command(text.strip()) or _asks_for_a_reading(text)
        try:
            sequence, text = link_frame.decode(text)
        except link_frame.FrameError:
            return False
        if sequence is not None and (not sequence or (sequence, text) != self._last_request):
            self._last_request = (sequence, text)
            self._take_command(text.strip())
        return _asks_for_a_reading(text)

    def _take_command(self, text):
        """Note a command. Returns whether it is one that succeeds in silence."""
        header, _, argument = text.partition(" ")
        header = header.upper()[1:] if header.startswith(":") else header.upper()
        argument = argument.strip()
        if header in ("*RST", "*CLS") and not argument:
            self.is_streaming = self.is_streaming and header == "*CLS"
            return True
        if header in ("CAL:SEAL", "CALIBRATION:SEAL") and argument.upper() in ("OFF", "0"):
            return True  # it is open
        if header in _STREAM_HEADERS and argument.upper() in ("ON", "1", "OFF", "0"):
            self.is_streaming = argument.upper() in ("ON", "1")
            return True
        for data in RECORDS:
            if header in _DATA_HEADERS and argument.strip('"').lower() == data.hex():
                self.data = data
                self.sequence += 1
                return True
        return False

    def agrees_with(self, device):
        """Does the device hold that?"""
        store = device.store
        overloads = device.seal.log.count - self.sequence  # the only event that no command asks for, once at most
        held = (store.data, store.sequence, device.is_streaming, device.mishaps)
        return held == (self.data, self.sequence, self.is_streaming, 0) and 0 <= overloads <= 1


def random_line():
    """Return a line as bytes: noise, a command, or a mutated one; perhaps in a frame, which may be mutated too."""
    choice = random.randrange(10)
    if choice == 0:
        return bytes([random.randrange(256) for _ in range(random.randrange(40))])
    if choice == 1:
        return "".join([random.choice(_PRINTABLE) for _ in range(random.randrange(200))]).encode()
    line = random.choice(_SEEDS)
    if random.randrange(2):
        line = line.lower() if random.randrange(2) else line.upper()
    if choice < 6:
        line = mutated(line)
    if random.randrange(2):
        line = link_frame.encode(random.randrange(3), line.replace("~", "-"))
        if random.randrange(3) == 0:
            line = mutated(line)
    return line.encode()


def mutated(text):
    """Return the text with one to three characters changed, lost, doubled or added, or its end cut off."""
    for _ in range(random.randrange(1, 4)):
        place = random.randrange(len(text) + 1)
        kind = random.randrange(5)
        if kind == 0:
            text = text[:place] + text[place + 1 :]
        elif kind == 1:
            text = text[:place] + random.choice(_PRINTABLE) + text[place:]
        elif kind == 2:
            text = text[:place] + random.choice(_PRINTABLE) + text[place + 1 :]
        elif kind == 3:
            text = text[:place] + text[max(place - 1, 0) :]
        elif random.randrange(4) == 0:
            text = text[:place]
    return text


def lines_of(data):
    """Return the lines in what was sent, as the ends CR and LF make them."""
    return [line for line in data.replace(b"\r", b"\n").split(b"\n") if line]


def run(number_of_lines, seed):
    """Send so many lines. Returns how many a second, saves, errors answered, and the growth of the heap in bytes."""
    random.seed(seed)
    bench = Bench(has_switch=False)  # so that no line can seal it
    account = Account()
    errors = 0
    heap_half_way = 0
    started = time.ticks_ms()
    for number in range(number_of_lines):
        errors += _send(bench, account, random_line(), (b"\n", b"\r", b"\r\n")[number % 3])
        if number % LINES_BETWEEN_CHECKS == 0:
            _check(bench, account)
        if number == number_of_lines // 2:
            heap_half_way = _heap_used()
    milliseconds = time.ticks_diff(time.ticks_ms(), started)
    return number_of_lines * 1000 // milliseconds, account.sequence, errors, _heap_used() - heap_half_way


def _send(bench, account, line, end):
    """Send a line: it is answered, and changes what it may. Returns how many errors were answered."""
    bench.console.type(line + end)
    bench.run()
    answers = bench.console.lines()
    silent = [account.take(part) for part in lines_of(line)]
    assert len(answers) >= silent.count(False), (line, answers)
    assert account.agrees_with(bench.device), (line, answers)
    return len([answer for answer in answers if "!-" in answer])


def _check(bench, account):
    """The device weighs, gives the readings it owes, and answers in both forms."""
    bench.convert(random.randrange(-(1 << 23), 1 << 23))
    assert bench.ask("*OPC?") == ["1"]
    assert bench.ask_framed(link_frame.RESYNCHRONISE, "*OPC?") == [(0, "1")]
    account.take(link_frame.encode(link_frame.RESYNCHRONISE, "*OPC?").encode())
    assert bench.device.is_busy == account.is_streaming


def _asks_for_a_reading(text):
    return text.strip().upper() in ("READ?", ":READ?")


def _heap_used():
    gc.collect()
    return gc.mem_alloc()
