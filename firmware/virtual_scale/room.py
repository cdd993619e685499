"""The air around the scale, and how slowly the cell follows it."""

import math


class Room:
    """Air at a steady temperature that can be changed; the cell warms itself a little and lags behind (first order).

    Each parameter below can be changed by keyword.
    """

    air_c = 20.0
    warm_up_c = 0.2  # this and the time constant: typical of a small aluminium cell excited with 5 V, from memory
    time_constant_s = 600.0

    def __init__(self, **parameters):
        for name in parameters:
            if name not in ("air_c", "warm_up_c", "time_constant_s"):
                raise ValueError("a room has no parameter %s" % name)
            setattr(self, name, parameters[name])
        if not self.time_constant_s > 0:
            raise ValueError("the time constant of a room is more than 0 s")
        self._cell_c = self.air_c
        self._since_s = 0.0

    def set_air(self, air_c, time_s):
        """Change the temperature of the air at this moment."""
        self._cell_c = self.cell_c(time_s)
        self._since_s = time_s
        self.air_c = air_c

    def cell_c(self, time_s):
        """Return the temperature of the cell at a moment after the last change."""
        final_c = self.air_c + self.warm_up_c
        return final_c + (self._cell_c - final_c) * math.exp((self._since_s - time_s) / self.time_constant_s)
