"""HX711 to the bit: what its two pins do, and which counts it finds.

Written from the datasheet "24-Bit Analog-to-Digital Converter (ADC) for Weigh Scales" (AVIA Semiconductor), pages 3 to
5; noise, settling time and the high level after the 25th pulse from memory of it. Where it is silent this model does
the following.

1. Settling after power-up, a new channel or gain, or a step of the input takes 4 conversions (the datasheet gives the
   total time), as sigma_delta.py says.
2. A conversion that ends while bits are being shifted out is lost; the frame goes on unharmed.
3. A number of pulses other than 25, 26 or 27 is a communication error: channel and gain stay, and a frame that was left
   unfinished for a whole conversion is given up.
"""

from virtual_scale.chips.sigma_delta import SPAN, SigmaDelta, clipped

POWER_DOWN_NS = 60000  # PD_SCK high for longer: power down, page 5
T3_MIN_NS = 200  # PD_SCK high, page 5
T3_MAX_NS = 50000
T4_MIN_NS = 200  # PD_SCK low
CHANNEL_AND_GAIN = {25: ("A", 128), 26: ("B", 32), 27: ("A", 64)}
INPUT_NOISE_V = {10: 50e-9, 80: 90e-9}  # rms at gain 128, by output rate in SPS, page 3; taken for every gain
_SHIFTED_OUT = 25


class Hx711:
    """The chip on `clock`. differential_v(channel, time_ns): its input. avdd_v: the reference, +-0.5 AVDD / gain.

    communication_errors: frames of a wrong number of pulses; timing_violations: T3 or T4 broken.
    """

    def __init__(self, clock, differential_v, random_numbers, rate_sps=10, avdd_v=5.0):
        self._clock = clock
        self._differential_v = differential_v
        self._converter = SigmaDelta(random_numbers)
        self._period_ns = 1000000000 // rate_sps
        self._noise_v = INPUT_NOISE_V[rate_sps]
        self._avdd_v = avdd_v
        self._pd_sck = 0
        self._edge_ns = -T4_MIN_NS
        self.communication_errors = 0
        self.timing_violations = 0
        self._power_up()

    def _power_up(self):
        self._channel, self._gain = CHANNEL_AND_GAIN[25]
        self._converter.forget()
        self._position = _SHIFTED_OUT  # pulses since the last conversion: 0 a conversion waits, up to 24 data bits
        self._has_moved = False  # pulses since the last conversion's end?
        self._word = 0
        self._end_ns = self._clock.now_ns + self._period_ns

    def set_clock(self, level):
        """Drive PD_SCK."""
        if level == self._pd_sck:
            return
        if self._end_ns <= self._clock.now_ns:
            self.catch_up()
        lasted_ns = self._clock.now_ns - self._edge_ns
        self._edge_ns = self._clock.now_ns
        self._pd_sck = level
        if level:
            self._position += 1
            self._has_moved = True
            self.timing_violations += lasted_ns < T4_MIN_NS
        elif lasted_ns > POWER_DOWN_NS:
            self._power_up()
        else:
            self.timing_violations += not T3_MIN_NS <= lasted_ns <= T3_MAX_NS

    def dout(self):
        """Return the level of DOUT."""
        if self._end_ns <= self._clock.now_ns:
            self.catch_up()
        position = self._position
        if position >= _SHIFTED_OUT or (self._pd_sck and self._is_down()):
            return 1
        return self._word >> 24 - position & 1  # bit 24 is 0: a conversion waits

    def next_change_ns(self):
        """Return when the next conversion ends, or would if the chip were not powered down."""
        self.catch_up()
        return self._clock.now_ns + self._period_ns if self._is_down() else self._end_ns

    def catch_up(self):
        """Make the conversions that have ended by now."""
        now_ns = self._clock.now_ns
        if self._pd_sck:
            now_ns = min(now_ns, self._edge_ns + POWER_DOWN_NS)
        while self._end_ns <= now_ns:
            self._convert()

    def _is_down(self):
        return self._pd_sck and self._clock.now_ns - self._edge_ns > POWER_DOWN_NS

    def _convert(self):
        is_shifting = 0 < self._position < _SHIFTED_OUT
        if self._position in CHANNEL_AND_GAIN:
            self._channel, self._gain = CHANNEL_AND_GAIN[self._position]
        elif self._position > _SHIFTED_OUT or (is_shifting and not self._has_moved):
            self.communication_errors += 1
        counts = self._find_counts()
        self._end_ns += self._period_ns
        if not (is_shifting and self._has_moved):
            self._word = counts & 0xFFFFFF
            self._position = 0
        self._has_moved = False

    def _find_counts(self):
        full_scale_v = 0.5 * self._avdd_v / self._gain
        signal = self._differential_v(self._channel, self._end_ns) / full_scale_v
        return clipped(self._converter.convert(signal, self._noise_v / full_scale_v) * SPAN)
