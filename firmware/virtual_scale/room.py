"""The room around the scale: its air, how slowly the cell follows it, and what shakes the pan."""

import math

from virtual_scale.parameters import set_parameters
from virtual_scale.random_processes import Wandering


class Room:
    """Air at a steady temperature that can be changed; the powered cell warms itself a little and lags (first order).

    Each parameter below can be changed by keyword.
    """

    KIND = "a room"
    air_c = 20.0
    warm_up_c = 0.2  # this and the time constant: typical of a small aluminium cell excited with 5 V, from memory
    time_constant_s = 600.0
    # A floor that shakes, as a force on the pan: amplitude and frequency. Fans and motors: 5 to 50 Hz, common practice
    vibration_g = 0.0
    vibration_hz = 12.3
    # Moving air, as a force on the pan: standard deviation, and for how long a gust lasts
    draught_g = 0.0
    draught_s = 1.0

    def __init__(self, **parameters):
        set_parameters(self, parameters)
        self._is_powered = True
        self._cell_c = self.air_c
        self._since_s = 0.0
        self._draught = Wandering()

    def change(self, time_s, parameters):
        """Change parameters (name: value) at this moment."""
        self._hold(time_s)
        set_parameters(self, parameters)

    def set_air(self, air_c, time_s):
        """Change the temperature of the air at this moment."""
        self.change(time_s, {"air_c": air_c})

    def set_power(self, is_powered, time_s):
        """Say whether the cell is excited, and so warms itself, from this moment on."""
        self._hold(time_s)
        self._is_powered = is_powered

    def cell_c(self, time_s):
        """Return the temperature of the cell at a moment after the last change."""
        final_c = self.air_c + (self.warm_up_c if self._is_powered else 0.0)
        return final_c + (self._cell_c - final_c) * math.exp((self._since_s - time_s) / self.time_constant_s)

    def shaking_g(self, time_s, random_numbers):
        """Return the force that floor and air put on the pan at a moment, as grams."""
        force_g = 0.0
        if self.vibration_g:
            force_g += self.vibration_g * math.sin(2 * math.pi * self.vibration_hz * time_s)
        if self.draught_g:
            force_g += self.draught_g * self._draught.at(time_s, self.draught_s, random_numbers)
        return force_g

    def _hold(self, time_s):
        self._cell_c = self.cell_c(time_s)
        self._since_s = time_s
