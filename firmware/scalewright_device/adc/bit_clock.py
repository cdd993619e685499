"""24 bits clocked out of a converter on two wires, through any hardware SPI or, as the fallback, by two pins.

A conversion waits while the data line is low. Each rise of the clock shifts one bit out, most significant first, two's
complement; the 25th drives the data line high again. A 26th and 27th pulse have a meaning of the chip's own.

    is_low()      is the data line low? Clocks nothing.
    take(pulses)  gives 25 to 27 pulses and returns the signed 24 bits. Allocates nothing.
    is_whole      False where in the last take a pulse was too long, or the data line was not high after the 25th: it is
                  stuck, or pulses were lost.
"""

_DATA_BITS = 24

# Two SPI bits a pulse, the second one 0: a peripheral that pauses between bytes lengthens only the low time.
_SIX_BYTES = b"\xaa\xaa\xaa\xaa\xaa\xaa"
_PULSES = (_SIX_BYTES + b"\x80", _SIX_BYTES + b"\xa0", _SIX_BYTES + b"\xa8")
_BIT_25 = 0x40
# The four data bits in a received byte: those sampled while the clock is low, when the data line is long settled.
_NIBBLES = bytes([(i >> 6 & 1) << 3 | (i >> 4 & 1) << 2 | (i >> 2 & 1) << 1 | i & 1 for i in range(256)])


class SpiBitClock:
    """MOSI drives the converter's clock, MISO reads its data line, the SPI's own clock is not connected.

    spi: mode 0, 1 MHz, so that the clock is high for 1 us, which no interrupt can lengthen; MOSI must idle low.
    """

    def __init__(self, spi):
        self._spi = spi
        self._received = bytearray(7)
        self._no_pulse = bytes(1)
        self._level = bytearray(1)
        self.is_whole = True

    def is_low(self):
        self._spi.write_readinto(self._no_pulse, self._level)
        return self._level[0] == 0

    def take(self, pulses):
        received = self._received
        self._spi.write_readinto(_PULSES[pulses - 25], received)
        counts = 0
        for k in range(6):
            counts = counts << 4 | _NIBBLES[received[k]]
        self.is_whole = received[6] & _BIT_25 != 0
        return counts - ((counts & 0x800000) << 1)


class PinBitClock:
    """Two pins, where no SPI is free. Interrupts are off for one pulse at a time.

    data_pin, clock_pin: with `value()` as machine.Pin has it, the clock low. clock: `ticks_us` and `ticks_diff`.
    disable_irq, enable_irq: those of `machine`. longest_us: of the time the clock may be high.
    """

    def __init__(self, data_pin, clock_pin, clock, disable_irq, enable_irq, longest_us=50):
        self._data = data_pin
        self._clock_pin = clock_pin
        self._clock = clock
        self._disable_irq = disable_irq
        self._enable_irq = enable_irq
        self._longest_us = longest_us
        self.is_whole = True

    def is_low(self):
        return self._data.value() == 0

    def take(self, pulses):
        self.is_whole = True
        counts = 0
        for _ in range(_DATA_BITS):
            counts = counts << 1 | self._pulse()
        for _ in range(pulses - _DATA_BITS):
            if not self._pulse():
                self.is_whole = False
        return counts - ((counts & 0x800000) << 1)

    def _pulse(self):
        """Give one pulse and return the bit that it shifted out."""
        clock = self._clock
        clock_pin = self._clock_pin
        state = self._disable_irq()
        start = clock.ticks_us()
        clock_pin.value(1)
        clock_pin.value(0)
        width = clock.ticks_diff(clock.ticks_us(), start)
        self._enable_irq(state)
        if width > self._longest_us:
            self.is_whole = False
        return self._data.value()
