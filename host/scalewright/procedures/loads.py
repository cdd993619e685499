"""In which order loads are placed."""

from collections.abc import Sequence
from decimal import Decimal

from scalewright.procedures.requests import Load


def up_and_down(max_g: Decimal, steps: int) -> tuple[Load, ...]:
    """Return zero and `steps` even loads up to Max, then down again to zero, of whatever masses there are."""
    up = [Load(max_g * k / steps) for k in range(steps + 1)]
    return (*up, *reversed(up[:-1]))


def ends(loads: Sequence[Load]) -> tuple[Load, Load]:
    """Return the lightest and the heaviest."""
    return min(loads, key=lambda load: load.load_g), max(loads, key=lambda load: load.load_g)


def together(*loads: Load) -> Load:
    """Return several loads as one; where one is of no named pieces, its own grams are its mark."""
    pieces = tuple(piece for load in loads if load.load_g for piece in load.pieces or (str(load.load_g),))
    return Load(sum((load.load_g for load in loads), Decimal(0)), pieces)


def directions(loads_g: Sequence[Decimal]) -> list[str]:
    """Return for each load whether it was reached from below ("up") or from above ("down")."""
    before = (loads_g[0], *loads_g[:-1])
    return ["down" if load_g < previous_g else "up" for load_g, previous_g in zip(loads_g, before, strict=True)]
