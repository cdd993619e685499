"""ADS1232 to the bit: what its pins do, and which counts it finds. Its second channel and thermometer are not there.

Written from the datasheet SBAS350 (Texas Instruments); lines marked M from memory of it. Where it is silent this model
does the following.

1. A new gain takes effect with the next conversion, and the filter goes on; a new rate begins a conversion.
2. The offset found by a calibration has half the noise of one conversion.
3. An offset of the chip's own, before calibration, is invented.
"""

from virtual_scale.chips.sigma_delta import SPAN, SigmaDelta, clipped

GAINS = {(0, 0): 1, (0, 1): 2, (1, 0): 64, (1, 1): 128}  # by the levels of (GAIN1, GAIN0); M
RATES = (10, 80)  # conversions a second, by the level of SPEED
INPUT_NOISE_V = {10: 17e-9, 80: 44e-9}  # rms at gain 128; taken for every gain
SETTLING_NS = {10: 401000000, 80: 51000000}  # after power-up and standby, until the first conversion
CALIBRATION_NS = {10: 801000000, 80: 101000000}  # M
UPDATE_NS = 39000  # before a conversion ends DRDY/DOUT is high and must not be clocked; M
SCLK_MIN_NS = 100  # SCLK high or low; M
_FORCED_HIGH = 25
_CALIBRATE = 26


class Ads1232:
    """The chip on `clock`, PDWN high. differential_v(channel, time_ns): its input. reference_v: +-0.5 V_REF / gain.

    timing_violations: pulses too short, or given while the result was updated.
    """

    def __init__(self, clock, differential_v, random_numbers, rate_sps=10, reference_v=5.0, offset_v=500e-9):
        self._clock = clock
        self._differential_v = differential_v
        self._random_numbers = random_numbers
        self._converter = SigmaDelta(random_numbers)
        self._reference_v = reference_v
        self._offset_v = offset_v
        self._gain = 128
        self._rate_sps = rate_sps
        self._sclk = 0
        self._edge_ns = -SCLK_MIN_NS
        self._is_stopped = False  # by PDWN, or in standby
        self.timing_violations = 0
        self._power_up()

    def _power_up(self):
        self._offset = 0.0  # as a part of full scale, found by calibration
        self._wake()

    def _wake(self):
        self._is_stopped = False
        self._hold(SETTLING_NS[self._rate_sps])

    def _hold(self, for_ns):
        """Keep DRDY/DOUT high until a settled conversion comes."""
        self._is_settled = False
        self._is_calibrating = False
        self._position = _CALIBRATE  # pulses since the last conversion: 0 one waits, up to 24 data bits
        self._word = 0
        self._end_ns = self._clock.now_ns + for_ns

    def set_pdwn(self, level):
        self.catch_up()
        if level and self._is_stopped:
            self._power_up()
        self._is_stopped = not level

    def set_speed(self, level):
        self.catch_up()
        self._rate_sps = RATES[level]
        self._end_ns = self._clock.now_ns + 1000000000 // self._rate_sps

    def set_gain(self, gain1, gain0):
        self.catch_up()
        self._gain = GAINS[gain1, gain0]

    def set_clock(self, level):
        """Drive SCLK."""
        if level == self._sclk:
            return
        self.catch_up()
        now_ns = self._clock.now_ns
        self.timing_violations += now_ns - self._edge_ns < SCLK_MIN_NS
        self._edge_ns = now_ns
        self._sclk = level
        if level:
            self._pulse()
        elif self._is_stopped:
            self._wake()

    def dout(self):
        """Return the level of DRDY/DOUT."""
        self.catch_up()
        position = self._position
        if position >= _FORCED_HIGH or self._is_updating():
            return 1
        return self._word >> 24 - position & 1  # bit 24 is 0: a conversion waits

    def next_change_ns(self):
        """Return when DRDY/DOUT may change by itself."""
        self.catch_up()
        now_ns = self._clock.now_ns
        if self._is_stopped:
            return now_ns + 1000000000 // self._rate_sps
        return self._end_ns - UPDATE_NS if now_ns < self._end_ns - UPDATE_NS else self._end_ns

    def catch_up(self):
        """Make the conversions that have ended by now."""
        while self._end_ns <= self._clock.now_ns and not self._is_stopped:
            self._convert()

    def _is_updating(self):
        return self._end_ns - self._clock.now_ns <= UPDATE_NS

    def _pulse(self):
        self.timing_violations += self._is_updating() and not self._is_stopped
        self._position += 1
        if self._position == _CALIBRATE:
            self._hold(CALIBRATION_NS[self._rate_sps])
            self._is_calibrating = True

    def _convert(self):
        full_scale_v = 0.5 * self._reference_v / self._gain
        own = self._offset_v / full_scale_v
        noise = INPUT_NOISE_V[self._rate_sps] / full_scale_v
        signal = self._differential_v("A", self._end_ns) / full_scale_v + own
        if self._is_calibrating:
            self._offset = own + self._random_numbers.normal() * noise / 2
            self._is_calibrating = False
        if not self._is_settled:
            self._converter.settle(signal)
            self._is_settled = True
        counts = clipped((self._converter.convert(signal, noise) - self._offset) * (SPAN - 1))
        self._word = counts & 0xFFFFFF
        self._position = 0  # even in the middle of a frame
        self._is_stopped = self._sclk == 1  # high while DRDY falls: standby
        self._end_ns += 1000000000 // self._rate_sps
