"""Calibration runs made up for tests."""

from decimal import Decimal

from scalewright.quantities import Observation
from scalewright.recordings import Observations


def a_run(loads, counts, directions=None, file="run.csv", **columns) -> Observations:
    """Return observations, the first on line 8 of its file. columns: load_u_g or counts_u, a value for each point."""
    size = len(loads)
    rows = zip(loads, counts, directions or [""] * size, *columns.values(), strict=True)
    points = tuple(
        Observation(
            exact(load), exact(count), direction=direction, **dict(zip(columns, map(exact, further), strict=True))
        )
        for load, count, direction, *further in rows
    )
    return Observations(file, points, tuple(range(8, 8 + size)), {}, {})


def exact(value) -> Decimal | None:
    """Return the decimal that a number is written as."""
    return None if value is None else Decimal(str(value))
