"""NAU7802: 24-bit converter for bridges on I2C, with a regulator for the bridge and a calibration of its own.

Facts from the data sheet "NAU7802 24-Bit Dual-Channel ADC For Bridge Sensors", revision 1.7 (Nuvoton), sections 8 to
11; addresses and bits of the registers from memory of it.
"""

ADDRESS = 0x2A
RATES = {10: 0, 20: 1, 40: 2, 80: 3, 320: 7}  # CRS by conversions a second
GAINS = {1: 0, 2: 1, 4: 2, 8: 3, 16: 4, 32: 5, 64: 6, 128: 7}  # GAINS
REGULATOR_MV = {4500: 0, 4200: 1, 3900: 2, 3600: 3, 3300: 4, 3000: 5, 2700: 6, 2400: 7}  # VLDO
FIRST_OF_STATUS, RESULT, CHOPPER, POWER, REVISION = 0x00, 0x12, 0x15, 0x1C, 0x1F  # registers

_PU_CTRL = 0x00
_RR = 0x01  # reset of the registers
_PUD = 0x02  # power up digital
_PUA = 0x04  # power up analog
_PUR = 0x08  # powered up
_CS = 0x10  # conversions run
_CR = 0x20  # a conversion waits
_AVDDS = 0x80  # the regulator feeds AVDD
_CTRL1 = 0x01  # VLDO, GAINS
_CTRL2 = 0x02  # CRS and:
_CALS = 0x04  # starts a calibration, 1 until it has ended; CALMOD 0: of the offset, inputs shorted inside
_CAL_ERR = 0x08
_CHOPPER_OFF = 0x30  # REG_CHPS; to be set after power-up
_PGA_CAP_EN = 0x80
_REVISION_CODE = 0x0F
_POWER_UP_US = 400  # twice the 200 until PUR
# Four for the filter; before them comes the one that starts the calibration.
_SETTLING = 5


class Nau7802:
    """A driver as interface.py describes.

    i2c: 400 kHz or less, `readfrom_mem_into` and `writeto_mem` as machine.I2C has them. clock: `sleep_us`. rate_sps,
    gain, regulator_mv: of RATES, GAINS, REGULATOR_MV; the supply must be 300 mV above the regulator's output.
    has_filter: is there a capacitor between VIN2P and VIN2N, 330 pF, to smooth the amplifier's output?

    After every start the chip calibrates its own offset. It could calibrate its gain, too, which needs full load on the
    scale at that moment: that is the business of the scale's own adjustment.
    """

    settling_readings = _SETTLING

    def __init__(self, i2c, clock, rate_sps=10, gain=128, regulator_mv=3000, has_filter=False):
        self._i2c = i2c
        self._clock = clock
        self._ctrl1 = REGULATOR_MV[regulator_mv] << 3 | GAINS[gain]
        self._ctrl2 = RATES[rate_sps] << 4
        self._power = _PGA_CAP_EN if has_filter else 0
        self._byte = bytearray(1)
        self._status = bytearray(3)
        self._result = bytearray(3)
        self.is_valid = True
        self.restart()

    def restart(self):
        """Reset and set up; the first conversion after that starts the calibration. Silent where nobody answers."""
        self._is_calibrated = False
        try:
            self._is_running = self._power_up()
            if self._is_running:
                self._set_up()
        except OSError:
            self._is_running = False

    def is_ready(self):
        if not self._is_running:
            return False
        status = self._status
        try:
            self._i2c.readfrom_mem_into(ADDRESS, FIRST_OF_STATUS, status)
        except OSError:
            return False
        return status[_PU_CTRL] & _CR != 0 and status[_CTRL2] & _CALS == 0

    def read(self):
        result = self._result
        self.is_valid = self._status[_CTRL2] & _CAL_ERR == 0
        try:
            self._i2c.readfrom_mem_into(ADDRESS, RESULT, result)
            if self.is_ready():  # another conversion has ended, maybe between two bytes
                self._i2c.readfrom_mem_into(ADDRESS, RESULT, result)
            if not self._is_calibrated:
                self._write(_CTRL2, self._ctrl2 | _CALS)
                self._is_calibrated = True
        except OSError:
            self.is_valid = False
        counts = result[0] << 16 | result[1] << 8 | result[2]
        return counts - ((counts & 0x800000) << 1)

    def _power_up(self):
        """Return whether the right chip is there, reset and powered up."""
        self._write(_PU_CTRL, _RR)
        self._write(_PU_CTRL, _PUD)
        self._clock.sleep_us(_POWER_UP_US)
        return self._read(_PU_CTRL) & _PUR != 0 and self._read(REVISION) & 0x0F == _REVISION_CODE

    def _set_up(self):
        self._write(_CTRL1, self._ctrl1)
        self._write(_CTRL2, self._ctrl2)
        self._write(CHOPPER, _CHOPPER_OFF)
        self._write(POWER, self._power)
        self._write(_PU_CTRL, _PUD | _PUA | _CS | _AVDDS)

    def _read(self, register):
        self._i2c.readfrom_mem_into(ADDRESS, register, self._byte)
        return self._byte[0]

    def _write(self, register, value):
        self._byte[0] = value
        self._i2c.writeto_mem(ADDRESS, register, self._byte)
