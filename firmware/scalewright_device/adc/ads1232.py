"""ADS1232: 24-bit converter for bridges on two wires; its gain and rate are set by pins.

Facts from the datasheet SBAS350 (Texas Instruments); those marked M from memory of it.
"""

SPEED = {10: 0, 80: 1}  # level of the pin by conversions a second
GAIN = {1: (0, 0), 2: (0, 1), 64: (1, 0), 128: (1, 1)}  # levels of (GAIN1, GAIN0); M

_READ = 25  # pulses: 24 bits, and one that drives DRDY/DOUT high
_READ_AND_CALIBRATE = 26  # the 26th starts the calibration of the offset; M
_POWER_DOWN_US = 30  # at least 26: PDWN low; M
# After a step of the input four conversions are to be discarded; before them comes the one that starts the calibration.
_SETTLING = 5


class Ads1232:
    """A driver as interface.py describes.

    wires: SCLK and DRDY/DOUT, as bit_clock.py describes. clock: `ticks_us`, `ticks_diff`, `sleep_us`. rate_sps: as
    SPEED is set. pdwn_pin: an output on PDWN; None where PDWN is wired high.

    A conversion is replaced by the next even while it is clocked out, and the mixture of both looks like any number. So
    one that may be about as old as a conversion lasts, since nobody looked for so long, is thrown away.
    """

    settling_readings = _SETTLING

    def __init__(self, wires, clock, rate_sps=10, pdwn_pin=None):
        self._wires = wires
        self._clock = clock
        self._too_old_us = 900000 // rate_sps
        self._pdwn_pin = pdwn_pin
        self.is_valid = True
        self.restart()

    def restart(self):
        """Power down and up; the first conversion after that starts the calibration of the offset."""
        if self._pdwn_pin is not None:
            self._pdwn_pin.value(0)
            self._clock.sleep_us(_POWER_DOWN_US)
            self._pdwn_pin.value(1)
        self._pulses = _READ_AND_CALIBRATE
        self._was_high = False  # has the line been high since a conversion was last thrown away?
        self._high_us = 0  # when it was, last

    def is_ready(self):
        clock = self._clock
        now_us = clock.ticks_us()
        if not self._wires.is_low():
            self._was_high = True
            self._high_us = now_us
            return False
        if self._was_high and clock.ticks_diff(now_us, self._high_us) < self._too_old_us:
            return True
        self._was_high = False
        self._wires.take(_READ)
        return False

    def read(self):
        counts = self._wires.take(self._pulses)
        self.is_valid = self._wires.is_whole
        self._pulses = _READ
        self._high_us = self._clock.ticks_us()
        return counts
