"""Runs the unmodified firmware/main.py on the virtual board under the MicroPython unix port.

`micropython run_on_micropython.py seed=1 speed=0 folder=…/`: the serial line is stdin and stdout, best a raw pty. The
options are those of virtual_board.parse_options. Ends when the line is hung up or the virtual power fails.
"""

import sys
import time

_FIRMWARE = __file__.rsplit("/", 2)[0]
sys.path[:0] = [_FIRMWARE, _FIRMWARE.rsplit("/", 1)[0]]

from scalewright_device.console import StdioConsole  # noqa: E402
from virtual_scale.storage import PowerFailure  # noqa: E402
from virtual_scale.virtual_board import PowerCycle, VirtualBoard, parse_options  # noqa: E402


class _PatientConsole(StdioConsole):
    """In free time nothing is lost where the reader is slow: time stands still while a line waits to be taken."""

    pace = None

    def write(self, text):
        if self.pace.is_free:
            self._output.poll()
        return super().write(text)


class _BoardModule:
    """What firmware/main.py imports as `board`."""

    board = None

    @staticmethod
    def assemble():
        return _BoardModule.board


def _run():
    """Run main.py, once more after each power cycle."""
    console = _PatientConsole()
    options = parse_options([word.split("=", 1) for word in sys.argv[1:]])
    board = _BoardModule.board = VirtualBoard(console, time.ticks_us, **options)
    console.pace = board.pace
    while True:
        try:
            import main  # noqa: F401

            return
        except PowerCycle:
            board.cycle_power()
            sys.modules.pop("main", None)


sys.modules["board"] = _BoardModule
try:
    _run()
except (EOFError, OSError, PowerFailure):
    pass
