"""NAU7802 register by register: how it is set up, calibrates itself, and which counts it finds.

Written from the data sheet "NAU7802 24-Bit Dual-Channel ADC For Bridge Sensors", revision 1.7 (Nuvoton): the formula of
the output and the conditions of CAL_ERR from its section 8.6, the rest from memory of it. Where it is silent, or not
remembered, this model does the following.

1. Offset registers are two's complement in counts, gain registers are in 2**-23, 1 at first.
2. CR is cleared by reading the first byte of a result. A result changes when a conversion ends, also between two bytes.
3. A calibration takes four conversions; then the filter begins anew.
4. Settling takes four conversions, as sigma_delta.py says. Noise and offset of the chip's own are assumed.
"""

from virtual_scale.chips.sigma_delta import SPAN, SigmaDelta, clipped

RATES = {0: 10, 1: 20, 2: 40, 3: 80, 7: 320}  # conversions a second by CRS
REGULATOR_V = (4.5, 4.2, 3.9, 3.6, 3.3, 3.0, 2.7, 2.4)  # by VLDO
INPUT_NOISE_V = {10: 50e-9, 20: 70e-9, 40: 100e-9, 80: 140e-9, 320: 280e-9}  # rms at gain 128; assumed for every gain
PUR_NS = 200000  # from PUD to PUR
CALIBRATION_CONVERSIONS = 4

PU_CTRL, CTRL1, CTRL2, OCAL1, GCAL1, OCAL2, GCAL2 = 0x00, 0x01, 0x02, 0x03, 0x06, 0x0A, 0x0D
ADCO, REVISION = 0x12, 0x1F
_RR, _PUD, _PUA, _PUR, _CS, _CR, _AVDDS = 0x01, 0x02, 0x04, 0x08, 0x10, 0x20, 0x80
_CALS, _CAL_ERR, _CHS = 0x04, 0x08, 0x80
_RUNS = _PUD | _PUA | _CS
# CALMOD
OFFSET_INSIDE, OFFSET_OF_INPUT, GAIN_OF_INPUT = 0, 2, 3
_LARGEST_GAIN = 256 * SPAN


class Nau7802:
    """The chip on `clock`. differential_v(channel, time_ns): its input. avdd_v: where the regulator is off."""

    address = 0x2A

    def __init__(self, clock, differential_v, random_numbers, avdd_v=3.3, offset_v=2e-6):
        self._clock = clock
        self._differential_v = differential_v
        self._random_numbers = random_numbers
        self._converter = SigmaDelta(random_numbers)
        self._avdd_v = avdd_v
        self._offset_v = offset_v
        self.power_up()

    def power_up(self):
        """Have the supply come back after it was lost."""
        self.registers = bytearray(0x20)
        self.registers[GCAL1 + 1] = self.registers[GCAL2 + 1] = 0x80
        self.registers[REVISION] = 0x0F
        self._end_ns = None  # of the conversion or the calibration
        self._powered_ns = None  # when PUR comes

    def read_register(self, register):
        self.catch_up()
        value = self.registers[register]
        if register == PU_CTRL and self._powered_ns is not None and self._powered_ns <= self._clock.now_ns:
            value |= _PUR
        if register == ADCO:
            self.registers[PU_CTRL] &= ~_CR & 0xFF
        return value

    def write_register(self, register, value):
        self.catch_up()
        if register == PU_CTRL:
            self._control(value)
        elif register == CTRL2:
            self.registers[CTRL2] = value & ~_CAL_ERR & 0xFF | self.registers[CTRL2] & _CAL_ERR
            if value & _CALS and self._end_ns is not None:
                self._end_ns = self._clock.now_ns + CALIBRATION_CONVERSIONS * self._period_ns()
        elif register < ADCO or ADCO + 2 < register < REVISION:
            self.registers[register] = value

    def next_change_ns(self):
        """Return when the next conversion or calibration ends, or would if the chip were running."""
        self.catch_up()
        return self._clock.now_ns + self._period_ns() if self._end_ns is None else self._end_ns

    def catch_up(self):
        """Make the conversions that have ended by now."""
        while self._end_ns is not None and self._end_ns <= self._clock.now_ns:
            if self.registers[CTRL2] & _CALS:
                self._calibrate()
            else:
                self._convert()
            self._end_ns += self._period_ns()

    def _control(self, value):
        if value & _RR:
            self.power_up()
        now_ns = self._clock.now_ns
        if not value & _PUD:
            self._powered_ns = None
        elif self._powered_ns is None:
            self._powered_ns = now_ns + PUR_NS
        if value & _RUNS != _RUNS:
            self._end_ns = None
        elif self._end_ns is None:
            self._converter.forget()
            self._end_ns = now_ns + self._period_ns()
        self.registers[PU_CTRL] = value & ~(_CR | _PUR) & 0xFF | self.registers[PU_CTRL] & _CR

    def _period_ns(self):
        return 1000000000 // self._rate_sps()

    def _rate_sps(self):
        return RATES.get(self.registers[CTRL2] >> 4 & 7, 10)

    def _full_scale_v(self):
        ctrl1 = self.registers[CTRL1]
        reference_v = REGULATOR_V[ctrl1 >> 3 & 7] if self.registers[PU_CTRL] & _AVDDS else self._avdd_v
        return 0.5 * reference_v / (1 << (ctrl1 & 7))

    def _signal(self):
        """Return the input with the chip's own offset, as a part of full scale."""
        channel = "B" if self.registers[CTRL2] & _CHS else "A"
        return (self._differential_v(channel, self._end_ns) + self._offset_v) / self._full_scale_v()

    def _noise(self):
        return INPUT_NOISE_V[self._rate_sps()] / self._full_scale_v()

    def _calibration(self):
        """Return where the offset and the gain of the selected channel are."""
        return (OCAL2, GCAL2) if self.registers[CTRL2] & _CHS else (OCAL1, GCAL1)

    def _number(self, register, size):
        value = int.from_bytes(self.registers[register : register + size], "big")
        return value - (value >> 8 * size - 1 << 8 * size)

    def _store(self, register, size, value):
        self.registers[register : register + size] = (value & (1 << 8 * size) - 1).to_bytes(size, "big")

    def _convert(self):
        offset, gain = self._calibration()
        measured = self._converter.convert(self._signal(), self._noise()) * SPAN
        counts = clipped((measured - self._number(offset, 3)) * self._number(gain, 4) / SPAN)
        self._store(ADCO, 3, counts)
        self.registers[PU_CTRL] |= _CR

    def _calibrate(self):
        """Carry out what CALMOD asks for. A failed one leaves the gain as it was and sets CAL_ERR."""
        offset, gain = self._calibration()
        mode = self.registers[CTRL2] & 3
        shorted = mode == OFFSET_INSIDE
        signal = self._offset_v / self._full_scale_v() if shorted else self._signal()
        measured = clipped((signal + self._random_numbers.normal() * self._noise() / 2) * SPAN)
        self.registers[CTRL2] &= ~(_CALS | _CAL_ERR) & 0xFF
        self._converter.forget()
        if mode != GAIN_OF_INPUT:
            self._store(offset, 3, measured)
            return
        net = measured - self._number(offset, 3)
        needed = SPAN * SPAN // net if net > 0 else _LARGEST_GAIN
        if needed < _LARGEST_GAIN:
            self._store(gain, 4, needed)
        else:
            self.registers[CTRL2] |= _CAL_ERR
