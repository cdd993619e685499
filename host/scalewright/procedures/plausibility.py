"""Can this reading be that of the load that was asked for?"""

from fractions import Fraction

from scalewright.errors import MeasurementError
from scalewright.procedures.requests import Expected, Indication, StillReading, TakeIndication, TakeStillReading

_SPREADS = 4  # two readings differ where they are farther apart than so many times the spread of either


def check_plausible(request: TakeStillReading | TakeIndication, answer: StillReading | Indication) -> None:
    """Raise MeasurementError, in the words of a technician, where the reading is not that of the load asked for."""
    if isinstance(request, TakeStillReading) and isinstance(answer, StillReading):
        _check_changed(request.unlike, answer)
    if request.expected is not None:
        counts = answer.mean_counts if isinstance(answer, StillReading) else Fraction(answer.counts)
        _check_expected(request.expected, counts)


def _check_changed(before: StillReading | None, still: StillReading) -> None:
    if before is None:
        return
    moved = abs(before.mean_counts - still.mean_counts)
    if moved <= _SPREADS * max(before.spread_counts, still.spread_counts, 1):
        raise MeasurementError("the reading is as before", "put on the load that was asked for, and only that")


def _check_expected(expected: Expected, counts: Fraction) -> None:
    off = counts - expected.counts
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
