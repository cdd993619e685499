"""The air around the scale, and how slowly the cell follows it."""

import math


class Room:
    """Air at a steady temperature that can be changed; the cell warms itself a little and lags behind (first order).

    warm_up_c and time_constant_s: typical of a small aluminium cell excited with 5 V, from memory.
    """

    def __init__(self, air_c=20.0, warm_up_c=0.2, time_constant_s=600.0):
        self.air_c = air_c
        self._warm_up_c = warm_up_c
        self._time_constant_s = time_constant_s
        self._cell_c = air_c
        self._since_s = 0.0

    def set_air(self, air_c, time_s):
        """Change the temperature of the air at this moment."""
        self._cell_c = self.cell_c(time_s)
        self._since_s = time_s
        self.air_c = air_c

    def cell_c(self, time_s):
        """Return the temperature of the cell at a moment after the last change."""
        final_c = self.air_c + self._warm_up_c
        return final_c + (self._cell_c - final_c) * math.exp((self._since_s - time_s) / self._time_constant_s)
