"""What goes wrong between the parts: broken wires at the bridge and the ADC, and noise on the serial line."""

NONE = "NONE"
STUCK = "STUCk"  # the data line stays high: no conversion is ever seen, nothing acknowledges
SATURATED = "SATurated"  # a signal wire touches the excitation
OPEN = "OPEN"  # an excitation wire is off: the bridge gives nothing
FAULTS = (NONE, STUCK, SATURATED, OPEN)


class Wiring:
    """The wires from bridge to ADC to board; `fault` is one of FAULTS."""

    def __init__(self, excitation_v):
        self._excitation_v = excitation_v
        self._chip = None
        self.fault = NONE

    def connect(self, chip):
        self._chip = chip

    def bridge_v(self, output_mv_per_v):
        """Return the voltage that arrives at the ADC."""
        if self.fault == SATURATED:
            return self._excitation_v
        return 0.0 if self.fault == OPEN else output_mv_per_v * 0.001 * self._excitation_v

    def set_clock(self, level):
        self._chip.set_clock(level)

    def next_change_ns(self):
        return self._chip.next_change_ns()

    def dout(self):
        return 1 if self.fault == STUCK else self._chip.dout()

    def chip_at(self, address):
        """Return the chip that acknowledges this address on I2C."""
        return self._chip if self.fault != STUCK and address == self._chip.address else None


class NoisyLine:
    """A console of which some bytes are damaged (one bit flips) or lost, in both directions, by a seeded rule."""

    def __init__(self, console, random_numbers, damaged_ppm, lost_ppm):
        self._console = console
        self._random_numbers = random_numbers
        self._damaged_ppm = damaged_ppm
        self._lost_ppm = lost_ppm

    def read_byte(self):
        while True:
            byte = self._console.read_byte()
            if byte is None or not self._random_numbers.happens(self._lost_ppm):
                return byte if byte is None else self._pass_on(byte)

    def write(self, text):
        arriving = [c for c in text if not self._random_numbers.happens(self._lost_ppm)]
        return self._console.write("".join([chr(self._pass_on(ord(c))) for c in arriving]))

    def _pass_on(self, byte):
        if self._random_numbers.happens(self._damaged_ppm):
            byte ^= 1 << self._random_numbers.bits() % 7
        return byte
