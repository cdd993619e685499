"""Pins, an SPI and interrupts for the unmodified drivers; using them takes virtual time, as on a board.

`wires` below is what the pins are connected to: `set_pd_sck(level)`, `dout()` and `next_conversion_ns()`.
"""

_PIN_NS = 1000  # one access from bytecode on a small board: estimated
_BITS = (128, 64, 32, 16, 8, 4, 2, 1)


class Interrupts:
    """The processor's interrupts. `hold_up(at_ns, for_ns)` lets one come at that time, or as soon as they are on."""

    def __init__(self, clock):
        self._clock = clock
        self._is_enabled = True
        self._at_ns = None
        self._for_ns = 0

    def disable(self):
        state = self._is_enabled
        self._is_enabled = False
        return state

    def enable(self, state):
        self._is_enabled = state
        self.serve()

    def hold_up(self, at_ns, for_ns):
        self._at_ns = at_ns
        self._for_ns = for_ns

    def serve(self):
        """Give the interrupt that is due its time."""
        if self._is_enabled and self._at_ns is not None and self._at_ns <= self._clock.now_ns:
            self._at_ns = None
            self._clock.now_ns += self._for_ns


class DataPin:
    """An input on DOUT."""

    def __init__(self, wires, clock, interrupts):
        self._wires = wires
        self._clock = clock
        self._interrupts = interrupts

    def value(self):
        self._clock.now_ns += _PIN_NS
        self._interrupts.serve()
        return self._wires.dout()


class ClockPin:
    """An output on PD_SCK."""

    def __init__(self, wires, clock, interrupts):
        self._wires = wires
        self._clock = clock
        self._interrupts = interrupts

    def value(self, level):
        self._clock.now_ns += _PIN_NS
        self._wires.set_pd_sck(level)
        self._interrupts.serve()


class Spi:
    """A hardware SPI in mode 0 whose MOSI drives PD_SCK and whose MISO reads DOUT in the middle of each bit."""

    def __init__(self, wires, clock, baudrate=1000000):
        self._wires = wires
        self._clock = clock
        self._half_bit_ns = 500000000 // baudrate
        self._byte_ns = 16 * self._half_bit_ns

    def write_readinto(self, sent, received):
        clock = self._clock
        wires = self._wires
        half_bit_ns = self._half_bit_ns
        for k in range(len(sent)):
            byte_out = sent[k]
            byte_in = 0
            if byte_out == 0:
                wires.set_pd_sck(0)
                if wires.next_conversion_ns() > clock.now_ns + self._byte_ns:  # DOUT cannot change: a short cut
                    received[k] = 255 if wires.dout() else 0
                    clock.now_ns += self._byte_ns
                    continue
            for bit in _BITS:
                wires.set_pd_sck(1 if byte_out & bit else 0)
                clock.now_ns += half_bit_ns
                if wires.dout():
                    byte_in |= bit
                clock.now_ns += half_bit_ns
            received[k] = byte_in
