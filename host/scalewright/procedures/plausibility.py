"""Can this reading be that of the load that was asked for?"""

from scalewright.errors import MeasurementError
from scalewright.procedures.requests import Expected, StillReading, TakeStillReading

_SPREADS = 4  # two readings differ where they are farther apart than so many times the spread of either


def check_plausible(request: TakeStillReading, still: StillReading) -> None:
    """Raise MeasurementError, in the words of a technician, where the reading is not that of the load asked for."""
    if request.unlike is not None and not _differ(request.unlike, still):
        raise MeasurementError("the reading is as before", "put on the load that was asked for, and only that")
    if request.expected is not None:
        _check_expected(request.expected, still)


def _differ(a: StillReading, b: StillReading) -> bool:
    return abs(a.mean_counts - b.mean_counts) > _SPREADS * max(a.spread_counts, b.spread_counts, 1)


def _check_expected(expected: Expected, still: StillReading) -> None:
    off = still.mean_counts - expected.counts
    if abs(off) <= expected.within_counts:
        return
    seen_g = float(expected.load_g) + float(off) / float(expected.counts_per_g)
    if not expected.load_g:
        raise MeasurementError(f"about {seen_g:.4g} g seems to be on the pan", "clear the pan")
    if abs(seen_g) < float(expected.load_g) / 20:
        raise MeasurementError("nothing seems to be on the pan", f"put {expected.load_g} g on")
    raise MeasurementError(
        f"about {seen_g:.4g} g seems to be on the pan, not {expected.load_g} g",
        "check which masses are on, and that nothing touches the pan",
    )
