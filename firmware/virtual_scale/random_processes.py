"""Noise that remembers: a first-order random process, and 1/f noise as a sum of such."""

import math


class Wandering:
    """A process of mean 0 and variance 1 whose values are correlated by exp(-t / time constant)."""

    def __init__(self):
        self._value = 0.0
        self._at_s = -1e9  # long ago: the first value owes nothing to it

    def at(self, time_s, time_constant_s, random_numbers):
        """Return the value at a moment after the last one asked for."""
        kept = math.exp((self._at_s - time_s) / time_constant_s)
        self._value = kept * self._value + math.sqrt(1 - kept * kept) * random_numbers.normal()
        self._at_s = time_s
        return self._value


class Flicker:
    """Noise of spectral density 1/f from 1 mHz to 1 Hz, of variance 1 a decade: a first-order process for each decade.

    A sum of relaxations evenly spaced on a logarithmic scale gives 1/f: J. Bernamont, Ann. Phys. (Paris) 7 (1937) 71,
    cited from memory.
    """

    TIME_CONSTANTS_S = (0.1, 1.0, 10.0, 100.0, 1000.0)

    def __init__(self):
        self._processes = [Wandering() for _ in self.TIME_CONSTANTS_S]

    def at(self, time_s, random_numbers):
        """Return the value at a moment after the last one asked for."""
        total = 0.0
        for k in range(len(self._processes)):
            total += self._processes[k].at(time_s, self.TIME_CONSTANTS_S[k], random_numbers)
        return total
