"""What amplifier and reference add to the signal: drift while they warm up, and 1/f noise."""

import math

from virtual_scale.parameters import set_parameters
from virtual_scale.random_processes import Flicker


class Electronics:
    """Electronics that are cold at first. Each parameter below can be changed by keyword; the effects are off at first.

    1 uV at the input is 0.5 g on a cell of 5 kg and 2 mV/V that is excited with 5 V.
    """

    KIND = "an amplifier"
    warm_up_zero_uv = 0.0  # what a cold one adds at its input; some uV occur with discrete amplifiers, from memory
    warm_up_span = 0.0  # by which part a cold one amplifies too much; 0.0001 occurs, from memory
    warm_up_s = 300.0  # time constant of warming up and cooling down
    flicker_uv = 0.0  # standard deviation of 1/f noise in each decade of frequency; 0.02 occurs, from memory

    def __init__(self, **parameters):
        set_parameters(self, parameters)
        self._is_powered = True
        self._coldness = 1.0  # 1: as cold as the room, 0: warm
        self._since_s = 0.0
        self._flicker = Flicker()

    def change(self, time_s, parameters):
        """Change parameters (name: value) at this moment."""
        self._hold(time_s)
        set_parameters(self, parameters)

    def set_power(self, is_powered, time_s):
        """Switch on or off at this moment."""
        self._hold(time_s)
        self._is_powered = is_powered

    def input_v(self, bridge_v, time_s, random_numbers):
        """Return the input that would give the same reading with perfect electronics."""
        coldness = self._coldness_at(time_s)
        added_uv = self.warm_up_zero_uv * coldness
        if self.flicker_uv:
            added_uv += self.flicker_uv * self._flicker.at(time_s, random_numbers)
        return bridge_v * (1 + self.warm_up_span * coldness) + added_uv * 1e-6

    def _hold(self, time_s):
        self._coldness = self._coldness_at(time_s)
        self._since_s = time_s

    def _coldness_at(self, time_s):
        final = 0.0 if self._is_powered else 1.0
        return final + (self._coldness - final) * math.exp((self._since_s - time_s) / self.warm_up_s)
