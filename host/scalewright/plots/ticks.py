"""Round numbers to label an axis with."""

from collections.abc import Iterable
from math import ceil, floor, inf, log10
from typing import NamedTuple


class Axis(NamedTuple):
    """An axis from `first` steps to `last` steps of `step`."""

    step: float
    first: int
    last: int

    @property
    def intervals(self) -> int:
        return self.last - self.first

    def labels(self) -> list[str]:
        """Return the text of each tick, all with the same number of decimals; powers of ten where they are shorter."""
        if not 1e-4 <= self.step <= 1e6:
            return [f"{k * self.step:.2g}" for k in range(self.first, self.last + 1)]
        decimals = max(-floor(log10(self.step) + 1e-9), 0)
        return [f"{k * self.step:.{decimals}f}" for k in range(self.first, self.last + 1)]


def axis(values: Iterable[float], most: int) -> Axis:
    """Return the finest axis with at most `most` intervals of 1, 2 or 5 times a power of ten that holds all values."""
    low, high = inf, -inf
    for value in values:
        low, high = min(low, value), max(high, value)
    if low > high:
        low, high = 0.0, 1.0
    if high - low <= 1e-12 * max(abs(low), abs(high)):
        margin = abs(low) / 10 or 1.0
        low, high = low - margin, high + margin
    power = floor(log10((high - low) / most)) - 1
    while True:
        for mantissa in (1, 2, 5):
            step = mantissa * 10.0**power
            found = Axis(step, floor(low / step + 1e-9), ceil(high / step - 1e-9))
            if found.intervals <= most:
                return found
        power += 1
