"""A platform that rings after every change of its load."""

import math


class Ringing:
    """A damped oscillation; blows add up. hz, decay_s: its frequency, and the time in which it falls to 1/e."""

    def __init__(self):
        self._along_g = self._across_g = 0.0  # the oscillation at `_since_s`, and a quarter of a period before
        self._since_s = 0.0

    def strike(self, blow_g, time_s, hz, decay_s):
        """Begin to swing by so much at this moment, beside what is left of the blows before."""
        along_g, across_g = self._turned(time_s, hz, decay_s)
        self._along_g, self._across_g = along_g + blow_g, across_g
        self._since_s = time_s

    def swing_g(self, time_s, hz, decay_s):
        """Return how far from rest it is at a moment after the last blow."""
        return self._turned(time_s, hz, decay_s)[0]

    def _turned(self, time_s, hz, decay_s):
        passed_s = time_s - self._since_s
        left = math.exp(-passed_s / decay_s)
        along, across = left * math.cos(2 * math.pi * hz * passed_s), left * math.sin(2 * math.pi * hz * passed_s)
        return self._along_g * along - self._across_g * across, self._along_g * across + self._across_g * along
