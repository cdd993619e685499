"""Pins, buses and interrupts for the unmodified drivers; using them takes virtual time, as on a board.

`wires` below is what the pins are connected to: `set_clock(level)`, `dout()` and `next_change_ns()`, the earliest time
when the latter may change by itself.
"""

_PIN_NS = 1000  # one access from bytecode on a small board: estimated
_SLOT_NS = 65000  # of a bit on one wire, and
_RESET_NS = 960000  # of a reset with its answer: usual
_NO_SUCH_DEVICE = 19  # ENODEV
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
    """An input on the data line."""

    def __init__(self, wires, clock, interrupts):
        self._wires = wires
        self._clock = clock
        self._interrupts = interrupts

    def value(self):
        self._clock.now_ns += _PIN_NS
        self._interrupts.serve()
        return self._wires.dout()


class ClockPin:
    """An output on the clock."""

    def __init__(self, wires, clock, interrupts):
        self._wires = wires
        self._clock = clock
        self._interrupts = interrupts

    def value(self, level):
        self._clock.now_ns += _PIN_NS
        self._wires.set_clock(level)
        self._interrupts.serve()


class OutputPin:
    """An output on a pin of the chip that `drive(level)` drives."""

    def __init__(self, drive):
        self._drive = drive

    def value(self, level):
        self._drive(level)


class Spi:
    """A hardware SPI in mode 0 whose MOSI drives the clock; MISO reads the data line in the middle of each bit."""

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
                wires.set_clock(0)
                if wires.next_change_ns() > clock.now_ns + self._byte_ns:  # the line cannot change: a short cut
                    received[k] = 255 if wires.dout() else 0
                    clock.now_ns += self._byte_ns
                    continue
            for bit in _BITS:
                wires.set_clock(1 if byte_out & bit else 0)
                clock.now_ns += half_bit_ns
                if wires.dout():
                    byte_in |= bit
                clock.now_ns += half_bit_ns
            received[k] = byte_in


class I2c:
    """A hardware I2C with one chip. wires: `chip_at(address)` returns what acknowledges it, None where nothing does."""

    def __init__(self, wires, clock, frequency=400000):
        self._wires = wires
        self._clock = clock
        self._byte_ns = 9000000000 // frequency

    def readfrom_mem_into(self, address, register, buffer):
        chip = self._select(address, register)
        self._clock.now_ns += self._byte_ns  # the address again, for reading
        for k in range(len(buffer)):
            self._clock.now_ns += self._byte_ns
            buffer[k] = chip.read_register(register + k)

    def writeto_mem(self, address, register, buffer):
        chip = self._select(address, register)
        for k in range(len(buffer)):
            self._clock.now_ns += self._byte_ns
            chip.write_register(register + k, buffer[k])

    def _select(self, address, register):
        self._clock.now_ns += self._byte_ns
        chip = self._wires.chip_at(address)
        if chip is None:
            raise OSError(_NO_SUCH_DEVICE)
        self._clock.now_ns += self._byte_ns
        return chip


class OneWire:
    """One wire with one chip on it, or none; the face is that of MicroPython's onewire.OneWire."""

    def __init__(self, clock, chip=None):
        self._clock = clock
        self.chip = chip

    def reset(self):
        self._clock.now_ns += _RESET_NS
        return self.chip is not None and self.chip.reset()

    def writebyte(self, byte):
        for k in range(8):
            self._clock.now_ns += _SLOT_NS
            if self.chip is not None:
                self.chip.write_bit(byte >> k & 1)

    def readbyte(self):
        byte = 0
        for k in range(8):
            self._clock.now_ns += _SLOT_NS
            byte |= (1 if self.chip is None else self.chip.read_bit()) << k
        return byte
