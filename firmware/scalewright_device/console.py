"""The board's own serial line, the one its REPL uses, read and written without ever waiting."""

import select
import sys


class StdioConsole:
    """`read_byte()` and `write(text)` as board.py asks, over stdin and stdout.

    One byte is read at a time: on a board only that is sure not to block. The raw streams are used, for the text ones
    change line ends on their way.
    """

    def __init__(self, stdin=sys.stdin, stdout=sys.stdout):
        self._read = stdin.buffer.read
        self._write = stdout.buffer.write
        self._input = select.poll()
        self._input.register(stdin, select.POLLIN)
        self._output = select.poll()
        self._output.register(stdout, select.POLLOUT)

    def read_byte(self):
        if not self._input.poll(0):
            return None
        try:
            data = self._read(1)
        except OSError:  # a line that is hung up: MicroPython's unix port only
            data = b""
        if not data:
            raise EOFError
        return data[0]

    def write(self, text):
        if self._output.poll(0):  # a port that is open but not read would hold the loop up for half a second a line
            self._write(text.encode())

    def wait(self, milliseconds):
        """Wait for input, no longer than that."""
        self._input.poll(milliseconds)
