"""What is to be drawn, whichever way it is drawn."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Series:
    """Points that belong together."""

    label: str
    x: Sequence[float]
    y: Sequence[float]
    is_line: bool = False
    """drawn as a line through the points, in their order"""


@dataclass(frozen=True)
class Chart:
    """One plot with its axes."""

    title: str
    x_label: str
    y_label: str
    series: tuple[Series, ...]
    limits: tuple[float, ...] = ()
    """y values that the points should stay between"""

    @property
    def is_empty(self) -> bool:
        return not any(len(series.x) for series in self.series)
