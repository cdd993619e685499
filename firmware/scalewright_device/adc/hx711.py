"""HX711: 24-bit converter on two wires.

Facts from the datasheet "24-Bit Analog-to-Digital Converter (ADC) for Weigh Scales" (AVIA Semiconductor), pages 3 to 5.
"""

CHANNEL_PULSES = (25, 26, 27)  # choose channel and gain of the next conversion: A 128, B 32, A 64
LONGEST_HIGH_US = 50  # T3, PD_SCK high, page 5; above 60 us the chip powers down and falls back to A 128
SETTLING_READINGS = 4  # 400 ms at 10 SPS, 50 ms at 80 SPS: output settling time, page 3, from memory


class Hx711:
    """A driver as interface.py describes.

    wires: PD_SCK and DOUT, as bit_clock.py describes, clocked within LONGEST_HIGH_US. pulses: one of CHANNEL_PULSES.
    """

    settling_readings = SETTLING_READINGS

    def __init__(self, wires, pulses=25):
        self._wires = wires
        self._pulses = pulses
        self.is_valid = True

    def is_ready(self):
        return self._wires.is_low()

    def read(self):
        counts = self._wires.take(self._pulses)
        self.is_valid = self._wires.is_whole
        return counts

    def restart(self):
        """Nothing to do: each read chooses channel and gain anew."""
