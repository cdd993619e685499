"""HX711: 24-bit converter on two wires, read through any hardware SPI or, as the fallback, by two pins.

Facts from the datasheet "24-Bit Analog-to-Digital Converter (ADC) for Weigh Scales" (AVIA Semiconductor), pages 4, 5.
DOUT low: a conversion waits. Each rise of PD_SCK shifts one bit out, most significant first, two's complement; the 25th
drives DOUT high again (from memory). 25, 26 or 27 pulses in all choose channel and gain of the next conversion: A 128,
B 32, A 64.
"""

_T3_MAX_US = 50  # PD_SCK high time, page 5; above 60 us the chip powers down and falls back to A 128
_SETTLING = 4  # conversions: 400 ms at 10 SPS, 50 ms at 80 SPS: output settling time, page 3, from memory
_DATA_BITS = 24

# Two SPI bits a pulse, the second one 0: a peripheral that pauses between bytes lengthens only the low time.
_SIX_BYTES = b"\xaa\xaa\xaa\xaa\xaa\xaa"
_LAST_BYTE = {25: b"\x80", 26: b"\xa0", 27: b"\xa8"}
_BIT_25 = 0x40
# The four data bits in a received byte: those sampled while PD_SCK is low, when DOUT is long settled.
_NIBBLES = bytes([(i >> 6 & 1) << 3 | (i >> 4 & 1) << 2 | (i >> 2 & 1) << 1 | i & 1 for i in range(256)])


class Hx711Spi:
    """A driver as interface.py describes: MOSI drives PD_SCK, MISO reads DOUT, the SPI's own clock is not connected.

    spi: mode 0, 1 MHz, so that PD_SCK is high for 1 us, which no interrupt can lengthen; MOSI must idle low.
    channel_pulses: 25 (A, gain 128), 26 (B, 32) or 27 (A, 64).
    """

    settling_readings = _SETTLING

    def __init__(self, spi, channel_pulses=25):
        self._spi = spi
        self._pulses = _SIX_BYTES + _LAST_BYTE[channel_pulses]
        self._received = bytearray(7)
        self._no_pulse = bytes(1)
        self._level = bytearray(1)
        self.is_valid = True

    def is_ready(self):
        self._spi.write_readinto(self._no_pulse, self._level)
        return self._level[0] == 0

    def read(self):
        received = self._received
        self._spi.write_readinto(self._pulses, received)
        counts = 0
        for k in range(6):
            counts = counts << 4 | _NIBBLES[received[k]]
        self.is_valid = received[6] & _BIT_25 != 0  # low: the line is stuck or pulses were lost
        return counts - ((counts & 0x800000) << 1)


class Hx711Pins:
    """A driver as interface.py describes, where no SPI is free. Interrupts are off for one pulse at a time.

    data_pin, clock_pin: DOUT and PD_SCK, with `value()` as machine.Pin has it, the clock low. clock: `ticks_us` and
    `ticks_diff`. disable_irq, enable_irq: those of `machine`. channel_pulses: as Hx711Spi.
    """

    settling_readings = _SETTLING

    def __init__(self, data_pin, clock_pin, clock, disable_irq, enable_irq, channel_pulses=25):
        self._data = data_pin
        self._pd_sck = clock_pin
        self._clock = clock
        self._disable_irq = disable_irq
        self._enable_irq = enable_irq
        self._last_pulses = channel_pulses - _DATA_BITS
        self.is_valid = True

    def is_ready(self):
        return self._data.value() == 0

    def read(self):
        self.is_valid = True
        counts = 0
        for _ in range(_DATA_BITS):
            counts = counts << 1 | self._pulse()
        for _ in range(self._last_pulses):
            if not self._pulse():  # the line is stuck or pulses were lost
                self.is_valid = False
        return counts - ((counts & 0x800000) << 1)

    def _pulse(self):
        """Give one pulse and return the bit that it shifted out."""
        clock = self._clock
        pd_sck = self._pd_sck
        state = self._disable_irq()
        start = clock.ticks_us()
        pd_sck.value(1)
        pd_sck.value(0)
        width = clock.ticks_diff(clock.ticks_us(), start)
        self._enable_irq(state)
        if width > _T3_MAX_US:
            self.is_valid = False
        return self._data.value()
