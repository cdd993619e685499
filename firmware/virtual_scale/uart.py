"""A serial line that takes time: ten bits a byte at so many baud, with the transmit buffer of a UART before it."""

_BUFFER_BYTES = 256
_BITS_A_BYTE = 10  # start, eight data, stop


class Uart:
    """A console whose answers leave no quicker than the line carries them; a line that finds the buffer full is lost.

    What is sent arrives at once all the same: loss is modelled, not the few milliseconds that a line is under way.
    """

    def __init__(self, console, clock, baud):
        self._console = console
        self._clock = clock
        self._byte_ns = _BITS_A_BYTE * 1000000000 // baud
        self._free_at_ns = 0
        self.read_byte = console.read_byte

    def write(self, text):
        now_ns = self._clock.now_ns
        sent_ns = max(self._free_at_ns, now_ns) + len(text) * self._byte_ns
        if sent_ns - now_ns <= _BUFFER_BYTES * self._byte_ns:
            self._free_at_ns = sent_ns
            self._console.write(text)
