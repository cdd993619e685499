"""The readings of the last minutes, as a chart and a person want them."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shared_calc.reading import MOVING

if TYPE_CHECKING:
    from decimal import Decimal

    from scalewright.link.reading import Reading

KEPT_S = 300.0
_MS_PER_S = 1000
_LEAST_POINTS_OF_A_DRIFT = 8


@dataclass(frozen=True)
class Column:
    """What a column of a chart shows: all values between two moments lie from `low` to `high`."""

    time_s: float
    low: float
    high: float


class Trace:
    """Values against device time. What is drawn is the indication; raw counts where there is none to be had."""

    def __init__(self) -> None:
        self._points: deque[tuple[float, float]] = deque()
        self._still_from_s = 0.0
        self.unit = ""
        """Of the values: "g" or "counts"."""

    def add(self, reading: "Reading", *, is_calibrated: bool) -> None:
        """Take a reading. One without a value leaves a gap; a device that started again starts a new trace."""
        unit = "g" if is_calibrated else "counts"
        value: Decimal | int | None = reading.indication_g if is_calibrated else reading.counts
        time_s = reading.time_ms / _MS_PER_S
        if unit != self.unit or (self._points and time_s < self._points[-1][0]):
            self._points.clear()
            self.unit, self._still_from_s = unit, 0.0
        if reading.flags & MOVING:
            self._still_from_s = time_s
        while self._points and time_s - self._points[0][0] > KEPT_S:
            self._points.popleft()
        if value is not None:
            self._points.append((time_s, float(value)))

    @property
    def end_s(self) -> float:
        """Device time of the last value; 0 before the first."""
        return self._points[-1][0] if self._points else 0.0

    def columns(self, number: int, span_s: float) -> list[Column | None]:
        """Return the lowest and highest value in each of `number` equal parts of the last span_s; None where none."""
        start_s = self.end_s - span_s
        found: list[Column | None] = [None] * number
        for time_s, value in reversed(self._points):
            place = min(int((time_s - start_s) / span_s * number), number - 1)
            if place < 0:
                break
            column = found[place]
            if column is None:
                found[place] = Column(time_s, value, value)
            elif not column.low <= value <= column.high:
                found[place] = Column(time_s, min(column.low, value), max(column.high, value))
        return found

    def rate_hz(self, span_s: float = 5.0) -> float | None:
        """Return how many values came in a second of device time."""
        recent = self._since(span_s)
        return (len(recent) - 1) / (recent[-1][0] - recent[0][0]) if len(recent) > 1 else None

    def drift_a_minute(self, span_s: float = 60.0) -> float | None:
        """Return how fast the value goes, by a straight line through means of equal times; None: too early to say.

        A load that was moved is no drift: only what came since counts.
        """
        recent = self._since(min(span_s, self.end_s - self._still_from_s))
        if len(recent) < 2 or recent[-1][0] - recent[0][0] < span_s / 4:
            return None
        means = [_mean_of(part) for part in _parts(recent, 60)]
        if len(means) < _LEAST_POINTS_OF_A_DRIFT:
            return None
        from statistics import linear_regression  # which the first screen need not wait for

        return 60 * linear_regression([x for x, _ in means], [y for _, y in means]).slope

    def _since(self, span_s: float) -> list[tuple[float, float]]:
        found = []
        for point in reversed(self._points):
            if point[0] <= self.end_s - span_s:
                break
            found.append(point)
        return found[::-1]


def _parts(points: Sequence[tuple[float, float]], number: int) -> list[Sequence[tuple[float, float]]]:
    size = max(len(points) // number, 1)
    return [points[k : k + size] for k in range(0, len(points), size)]


def _mean_of(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)
