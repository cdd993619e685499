"""What goes wrong between the parts: broken wires at the bridge and the ADC, and noise on the serial line."""

import math

from virtual_scale.random_numbers import RandomNumbers

NONE = "NONE"
STUCK = "STUCk"  # the data line stays high: no conversion is ever seen, nothing acknowledges
SATURATED = "SATurated"  # a signal wire touches the excitation
OPEN = "OPEN"  # an excitation wire is off: the bridge gives nothing
SWAPPED = "SWAPped"  # the two signal wires
SIGNAL = "SIGNal"  # one signal wire is off: the open input drifts to the end of its range
FLOATING = "FLOating"  # both signal wires are off: the inputs pick up whatever there is
MAINS = "MAINs"  # the cable runs along a mains cable
FAULTS = (NONE, STUCK, SATURATED, OPEN, SWAPPED, SIGNAL, FLOATING, MAINS)

_FLOATING_V = 0.002  # standard deviation: of an order that occurs
_MAINS_V = 0.0001
_MAINS_HZ = 50.0


class Wiring:
    """The wires from bridge to ADC to board; `fault` is one of FAULTS."""

    def __init__(self, excitation_v):
        self._excitation_v = excitation_v
        self._chip = None
        self._random_numbers = RandomNumbers(50)
        self.fault = NONE

    def connect(self, chip):
        self._chip = chip

    def bridge_v(self, output_mv_per_v, time_s):
        """Return the voltage that arrives at the ADC at a moment."""
        if self.fault == SATURATED:
            return self._excitation_v
        if self.fault == SIGNAL:
            return -0.5 * self._excitation_v
        if self.fault == OPEN:
            return 0.0
        if self.fault == FLOATING:
            return self._random_numbers.normal() * _FLOATING_V
        signal_v = output_mv_per_v * 0.001 * self._excitation_v
        if self.fault == MAINS:
            return signal_v + _MAINS_V * math.sin(2 * math.pi * _MAINS_HZ * time_s)
        return -signal_v if self.fault == SWAPPED else signal_v

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
