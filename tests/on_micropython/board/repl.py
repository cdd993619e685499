"""Runs on MicroPython's unix port: what a board does on its serial line between power-up and power-down.

    micropython repl.py FOLDER FACTS

Its flash is FOLDER/flash.img with littlefs2, its serial line stdin and stdout. FACTS, JSON, are what it says of itself
in `sys`. As on a board: boot.py and main.py run at power-up and at soft reset, Ctrl-C interrupts them, and then there
are the friendly REPL and the raw one with raw paste (MicroPython, reference manual, "The MicroPython Interactive
Interpreter Mode"). Ends with RESTART where the program asks for a reset.
"""

import gc
import json
import os
import sys

import micropython
import vfs

sys.path[:] = [__file__.rsplit("/", 1)[0]]
import machine  # noqa: E402  found here now, and kept when the files of the PC are out of reach
import onewire  # noqa: E402, F401
from flash import Flash  # noqa: E402

RESTART = 3  # exit code
WINDOW = 128  # bytes of raw paste before the next go-ahead
RAW_PROMPT = "raw REPL; CTRL-B to exit\r\n>"


class _Implementation:
    """As `sys.implementation` of the board."""

    name = "micropython"

    def __init__(self, facts):
        self.version = tuple(facts["version"])
        self._machine = facts["machine"]
        if facts["mpy"] is not None:
            self._mpy = facts["mpy"]


class _Sys:
    """The module `sys` as the board has it."""

    def __init__(self, facts):
        self.platform = facts["platform"]
        self.implementation = _Implementation(facts)

    def __getattr__(self, name):
        return getattr(sys, name)


def _read():
    data = sys.stdin.buffer.read(1)
    if not data:
        raise EOFError
    return data[0]


write = sys.stdout.write


class Board:
    """Its interpreter: friendly or raw, and the names that what is typed has defined."""

    def __init__(self, folder):
        self._folder = folder
        self._modules = set(sys.modules)
        self._names = {}
        self.is_raw = False
        self._line = bytearray()

    def power_up(self):
        write("\0")  # whoever supplies the power may interrupt from now on
        self.start()

    def start(self):
        """Run boot.py and, unless the raw REPL asked for it, main.py, with nothing left of what ran before."""
        for name in list(sys.modules):
            if name not in self._modules:
                del sys.modules[name]
        os.chdir(self._folder)
        sys.path[:] = ["", ".frozen", self._folder.rstrip("/") + "/lib"]
        self._names = {"__name__": "__main__"}
        gc.collect()
        self._run_file("boot.py")
        if not self.is_raw:
            self._run_file("main.py")
        self._greet()

    def step(self):
        """Take one byte from the line."""
        byte = _read()
        if byte == 1:
            self.is_raw = True
            self._greet()
        elif byte == 2:
            self.is_raw = False
            self._greet()
        elif byte == 4 and (not self.is_raw or not self._line):
            write("OK\r\nMPY: soft reboot\r\n" if self.is_raw else "\r\nMPY: soft reboot\r\n")
            self.start()
        elif byte == 4:
            self._execute_raw()
        elif byte == 5 and self.is_raw and not self._line:
            self._paste()
        elif byte == 13 and not self.is_raw:
            self._execute_typed()
        else:
            self._line.append(byte)
            if not self.is_raw:
                sys.stdout.buffer.write(bytes([byte]))

    def interrupt(self):
        """Ctrl-C where nothing runs."""
        self._line = bytearray()
        if not self.is_raw:
            write("\r\n>>> ")

    def _greet(self):
        self._line = bytearray()
        write(RAW_PROMPT if self.is_raw else "\r\nMicroPython (simulated board)\r\n>>> ")

    def _paste(self):
        if _read() != ord("A") or _read() != 1:
            raise ValueError("after Ctrl-E, 'A' and Ctrl-A are expected")
        write("R\x01")
        sys.stdout.buffer.write(bytes([WINDOW & 0xFF, WINDOW >> 8]))
        write("\x01")
        byte = _read()
        while byte != 4:
            self._line.append(byte)
            if len(self._line) % WINDOW == 0:
                write("\x01")
            byte = _read()
        write("\x04")
        self._execute_raw(acknowledgement="")

    def _execute_raw(self, acknowledgement="OK"):
        write(acknowledgement)
        error = self._execute(self._take_line(), "<stdin>")
        write("\x04")
        if error is not None:
            sys.print_exception(error, sys.stdout)
        write("\x04>")

    def _execute_typed(self):
        write("\r\n")
        error = self._execute(self._take_line(), "<stdin>")
        if error is not None:
            sys.print_exception(error, sys.stdout)
        write(">>> ")

    def _take_line(self):
        line = bytes(self._line)
        self._line = bytearray()
        return line

    def _run_file(self, name):
        try:
            with open(name, "rb") as file:
                source = file.read()
        except OSError:
            return
        error = self._execute(source, name)
        if error is not None:
            sys.print_exception(error, sys.stdout)

    def _execute(self, source, name):
        """Run a program in what is defined so far. Returns the exception that ended it."""
        try:
            exec(compile(source.decode(), name, "exec"), self._names)
        except (machine.Reset, EOFError):
            raise
        except SystemExit:
            pass
        except BaseException as error:
            return error
        return None


def run(folder, facts):
    """Serve until the line is hung up. Raises machine.Reset."""
    notes = open(facts["notes"], "ab") if facts["notes"] else None  # noqa: SIM115  open as long as there is power
    flash = Flash(open(folder + "/flash.img", "r+b"), notes)  # noqa: SIM115
    vfs.umount("/")
    try:
        vfs.mount(vfs.VfsLfs2(flash, progsize=256), facts["mounted_at"])
    except OSError:  # an RP2040's own _boot.py, too, makes a new file system where there is none that holds
        vfs.VfsLfs2.mkfs(flash, progsize=256)
        vfs.mount(vfs.VfsLfs2(flash, progsize=256), facts["mounted_at"])
    sys.modules["sys"] = _Sys(facts)
    board = Board(facts["mounted_at"])
    work = board.power_up
    while True:
        try:
            work()
            work = board.step
        except KeyboardInterrupt:
            work = board.step
            board.interrupt()
        except EOFError:
            return


micropython.kbd_intr(3)
try:
    run(sys.argv[1], json.loads(sys.argv[2]))
except machine.Reset:
    sys.exit(RESTART)
