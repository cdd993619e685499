"""Recording raw readings while loads and temperatures are gone through, timed by the device's own clock."""

from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Protocol

from scalewright.link.reading import Reading
from scalewright.procedures.requests import PlaceLoad, SetAir, Setting

if TYPE_CHECKING:
    from scalewright.link.scale import Scale

MS_PER_S = 1000


@dataclass(frozen=True)
class Step:
    """A load to stand for a time."""

    load_g: Decimal
    duration_s: Decimal
    air_c: Decimal | None = None
    """the temperature to bring the air to first; None leaves it as it is"""


class Hand(Protocol):
    """Whoever handles loads and the temperature of the air: a person, or the virtual scale's own hand."""

    def act(self, setting: Setting) -> None:
        """Return as soon as it is done; a temperature of the air, when it is being brought there."""


def record(
    scale: "Scale", hand: Hand, steps: Sequence[Step], keep: Callable[[Reading, Decimal], None]
) -> None:
    """Go through the steps; `keep` is handed each reading with the load that was on."""
    load_g = None
    for step in steps:
        if step.air_c is not None:
            hand.act(SetAir(step.air_c))
        if step.load_g != load_g:
            hand.act(PlaceLoad(step.load_g))
            load_g = step.load_g
        _stand(scale, step, keep)


def _stand(scale: "Scale", step: Step, keep: Callable[[Reading, Decimal], None]) -> None:
    started_ms: int | None = None
    with closing(scale.readings()) as stream:
        for reading in stream:
            started_ms = reading.time_ms if started_ms is None else started_ms
            if reading.time_ms - started_ms >= step.duration_s * MS_PER_S:
                return
            keep(reading, step.load_g)
