"""Is the load at rest? Taking raw counts only once it is."""

from collections import deque
from collections.abc import Iterator
from itertools import pairwise
from math import sqrt
from statistics import median

from scalewright.errors import MeasurementError
from scalewright.link.reading import Reading
from scalewright.procedures.requests import Indication, StillReading
from shared_calc.reading import FAULTS_OF_A_COUNT, MOVING, format_flags

TIMEOUT_MS = 30_000
_LIMIT = 4.0  # standard deviations of the difference of two means: chance refuses 1 in 16 000 of loads at rest
_MEDIAN_OF_DIFFERENCES = 0.9539  # median |difference of two normal values of standard deviation 1|


def take_still(readings: Iterator[Reading], count: int, timeout_ms: int = TIMEOUT_MS) -> StillReading:
    """Return the first `count` readings that agree with the `count` before them.

    They agree where the two means differ by no more than noise explains; the noise is taken from the median of
    successive differences, which neither a drift nor a single knock moves. Times are the device's own. Raises
    MeasurementError where the load is not at rest within timeout_ms, or a reading has a fault.
    """
    window: deque[int] = deque(maxlen=2 * count)
    started_ms = None
    for reading in readings:
        started_ms = reading.time_ms if started_ms is None else started_ms
        window.append(_counts_of(reading))
        if len(window) == 2 * count and _is_at_rest(list(window), count):
            return _together(list(window)[count:], reading)
        if reading.time_ms - started_ms > timeout_ms:
            break
    raise _not_still(timeout_ms)


def take(readings: Iterator[Reading], count: int) -> StillReading:
    """Return the next `count` readings, at rest or not. Raises MeasurementError where one has a fault."""
    taken: list[int] = []
    for reading in readings:
        taken.append(_counts_of(reading))
        if len(taken) == count:
            return _together(taken, reading)
    raise AssertionError("readings come without end")


def take_indication(readings: Iterator[Reading], count: int, timeout_ms: int = TIMEOUT_MS) -> Indication:
    """Return the first indication that the scale calls stable once its raw counts are at rest as in `take_still`.

    The counts are asked as well, because the first readings may be from before the load was put on.
    """
    window: deque[int] = deque(maxlen=2 * count)
    started_ms = None
    for reading in readings:
        started_ms = reading.time_ms if started_ms is None else started_ms
        window.append(_counts_of(reading))
        if reading.indication_g is None:
            raise MeasurementError(f"the device shows no mass: {reading.faults}", "see what it reports")
        if not reading.flags & MOVING and len(window) == 2 * count and _is_at_rest(list(window), count):
            return Indication(reading.indication_g, window[-1], reading.time_ms)
        if reading.time_ms - started_ms > timeout_ms:
            break
    raise _not_still(timeout_ms)


def _not_still(timeout_ms: int) -> MeasurementError:
    return MeasurementError(
        f"not still within {timeout_ms / 1000:g} s", "keep draughts and knocks away, let the load come to rest"
    )


def _together(counts: list[int], last: Reading) -> StillReading:
    return StillReading(sum(counts), len(counts), max(counts) - min(counts), last.time_ms, last.temperature_c)


def _counts_of(reading: Reading) -> int:
    faults = reading.flags & FAULTS_OF_A_COUNT
    if faults or reading.counts is None:
        raise MeasurementError(
            f"the device reports {format_flags(faults)}", "its wiring page says what to check, in order"
        )
    return reading.counts


def _is_at_rest(window: list[int], count: int) -> bool:
    noise = median(abs(b - a) for a, b in pairwise(window)) / _MEDIAN_OF_DIFFERENCES
    moved = abs(sum(window[count:]) - sum(window[:count])) / count
    return moved <= max(_LIMIT * noise * sqrt(2 / count), 1.0)
