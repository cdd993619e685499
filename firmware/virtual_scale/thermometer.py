"""A digital thermometer fixed to the load cell: right, but late and in steps."""

import math

from scalewright_device.thermometer import Ds18b20 as Ds18b20Driver
from virtual_scale.chips.ds18b20 import Ds18b20
from virtual_scale.pins import OneWire

_STEPS_PER_C = 16  # 1/16 C, as a DS18B20 gives at 12 bits (its datasheet, "Operation - Measuring Temperature")


class Thermometer:
    """Follows what `cell_c(time_s)` says as a first-order lag; `time_s()` is the time since power-up.

    lag_s: typical of a sensor in a metal case glued to the cell, from memory. is_connected: False loses the sensor.
    """

    def __init__(self, time_s, cell_c, lag_s=20.0):
        self._time_s = time_s
        self._cell_c = cell_c
        self._lag_s = lag_s
        self._read_at_s = time_s()
        self._seen_c = self._sensor_c = cell_c(self._read_at_s)
        self.is_connected = True

    def read(self):
        """Return the temperature in 1/16 C, None where the sensor is lost."""
        return math.floor(self.sensed_c() * _STEPS_PER_C + 0.5) if self.is_connected else None

    def sensed_c(self):
        """Return the temperature of the sensor itself."""
        now_s = self._time_s()
        if now_s > self._read_at_s:
            self._follow(now_s)
        return self._sensor_c

    def _follow(self, now_s):
        """The answer of a first-order lag to a ramp from the cell's temperature then to the one now."""
        cell_c = self._cell_c(now_s)
        behind_c = (cell_c - self._seen_c) / (now_s - self._read_at_s) * self._lag_s  # once the ramp has lasted
        remaining = math.exp((self._read_at_s - now_s) / self._lag_s)
        self._sensor_c = cell_c - behind_c + (self._sensor_c - self._seen_c + behind_c) * remaining
        self._seen_c = cell_c
        self._read_at_s = now_s


class WiredThermometer(Ds18b20Driver):
    """The unmodified driver on a wire to a DS18B20 in the place of `sensor`, a Thermometer. is_connected: as there."""

    def __init__(self, clock, sensor):
        self._chip = Ds18b20(clock, sensor.sensed_c)
        self._to_chip = OneWire(clock, self._chip)
        super().__init__(self._to_chip, clock)

    @property
    def is_connected(self):
        return self._to_chip.chip is not None

    @is_connected.setter
    def is_connected(self, is_connected):
        self._to_chip.chip = self._chip if is_connected else None
