"""A recording through the very device pipeline: raw counts in, the readings of the device out, bit for bit.

    replay(counts, record)              all of it at once
    Replay(record).take(counts)         piece by piece, for recordings larger than memory: the state carries over
    replay_file(path, record)           a file, piece by piece

A piece takes 18 bytes of memory a row: 4 of counts, 14 of readings; a compensation for temperature takes 40 more. Long
recordings go through shared_calc compiled by numba (extra `fast`); without it, and for short ones, the same functions
run as they are, a hundred times slower.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import FunctionType
from typing import Any, NamedTuple, TypeAlias, cast

import numpy as np
import numpy.typing as npt

from scalewright.analysis.compiled import IS_AVAILABLE, compiled
from scalewright.analysis.warmth import Felt, Warmth
from scalewright.errors import InputError
from scalewright.recording_reader import NO_COUNT, read_pieces
from shared_calc.chain_state import (
    CONDITIONED,
    DIVISIONS,
    FINE,
    FLAGS,
    HELD,
    MOVED_SPAN,
    MOVED_ZERO,
    UNLOADED,
    new_state,
)
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.curve import MAX_DEGREE
from shared_calc.measuring_chain import COUNTS_MAX, COUNTS_MIN, miss, scale_of, take
from shared_calc.reading import FAULTS, FLAG_NAMES, NO_DATA

Counts: TypeAlias = npt.NDArray[np.int32]
Times: TypeAlias = npt.NDArray[np.float64]
_ROWS = 1 << 18  # of a piece of a file
_FURTHEST = 1 << 31  # further than any indication
_WORTH_COMPILING = 200_000  # rows; fewer are done as they are before the compiler is ready


class Readings(NamedTuple):
    """What the device made of each count. `fine` and `divisions` mean something only where no flag is a fault."""

    conditioned: Counts
    """counts after the filter"""
    fine: Counts
    """the value of the curve, in units of d / 2**binary_exponent"""
    divisions: Counts
    """the indication, in d"""
    flags: npt.NDArray[np.uint16]
    """as in shared_calc.reading"""


Keep: TypeAlias = Callable[[Times | None, Counts, Readings], None]


class Replay:
    """A device that weighs by one coefficient record, from its start; zero and tare are not set."""

    def __init__(self, record: CoefficientRecord) -> None:
        *place, coefficients = scale_of(record)
        # A curve of lower degree is one of degree 3 that begins with 0: one compilation serves them all.
        self._scale = (*place, (0,) * (MAX_DEGREE + 1 - len(coefficients)) + coefficients)
        self._warmth = Warmth(record)
        self._state: list[int] = new_state()
        self._state[UNLOADED] = self._warmth.unloaded
        self._rows = 0

    def take(
        self, counts: npt.ArrayLike, temperature_c: npt.ArrayLike | None = None, *, fast: bool | None = None
    ) -> Readings:
        """Return the readings of the next counts: whole numbers of 24 bits, or NO_COUNT where none came.

        temperature_c: of the cell at each, as the device showed it; nan, or None for all: not known. fast: compiled by
        numba, or as the functions are; unless told, compiled once there were many. Raises InputError for anything else
        than counts.
        """
        counts = _checked(counts)
        readings = _unmade(len(counts))
        felt = self._warmth.feel(temperature_c, len(counts))
        self._rows += len(counts)
        if (IS_AVAILABLE and self._rows >= _WORTH_COMPILING) if fast is None else fast:
            state = np.array(self._state, np.int64)
            compiled(cast(FunctionType, _weigh_all))(state, self._scale, counts, felt, *readings)
            self._state = state.tolist()
        else:
            _weigh_all(self._state, self._scale, counts.tolist(), Felt(*(c.tolist() for c in felt)), *readings)
        return readings


def replay(
    counts: npt.ArrayLike,
    record: CoefficientRecord,
    temperature_c: npt.ArrayLike | None = None,
    *,
    fast: bool | None = None,
) -> Readings:
    """Return the readings of a device that starts with the first of these counts; see Replay.take."""
    return Replay(record).take(counts, temperature_c, fast=fast)


@dataclass(frozen=True)
class Summary:
    """What became of a whole recording."""

    flags: Mapping[int, int]
    """how many readings had each combination of flags"""
    lowest: int | None
    """the lowest indication, in d; None where there was none"""
    highest: int | None
    last: int | None


def replay_file(path: str, record: CoefficientRecord, keep: Keep | None = None) -> Summary:
    """Replay the recording in a file, CSV or counts alone as numpy.save writes them; at no time is all of it in memory.

    keep: is handed every piece: times in s (None where the file has none), counts, readings. Raises InputError.
    """
    device, numbers = Replay(record), np.zeros(1 << len(FLAG_NAMES), np.int64)
    lowest, highest, last = _FURTHEST, -_FURTHEST, None
    for time_s, counts, temperature_c in read_counts(path):
        readings = device.take(counts, temperature_c)
        numbers += np.bincount(readings.flags, minlength=len(numbers))
        shown = readings.divisions[readings.flags & FAULTS == 0]
        if shown.size:
            lowest, highest, last = min(lowest, int(shown.min())), max(highest, int(shown.max())), int(shown[-1])
        if keep is not None:
            keep(time_s, counts, readings)
    flags = {int(flags): int(numbers[flags]) for flags in np.flatnonzero(numbers)}
    return Summary(flags, *((None, None, None) if last is None else (lowest, highest, last)))


def read_counts(path: str) -> Iterator[tuple[Times | None, Counts, Times | None]]:
    """Yield times in s, counts and temperatures in C of a recording piece by piece; see replay_file."""
    if not path.endswith(".npy"):
        for piece in read_pieces(path):
            yield (
                np.frombuffer(piece.time_s),
                np.frombuffer(piece.counts, np.int32),
                np.frombuffer(piece.temperature_c),
            )
        return
    try:
        array = np.load(path, mmap_mode="r", allow_pickle=False)
    except (OSError, ValueError, EOFError) as error:
        raise InputError("cannot be read; expected an array of counts as numpy.save writes it", file=path) from error
    for start in range(0, array.size, _ROWS):
        try:
            yield None, _checked(array[start : start + _ROWS] if array.ndim else array), None
        except InputError as error:
            raise InputError(f"{error.message}, from row {start} on", file=path) from error


def _checked(counts: npt.ArrayLike) -> Counts:
    array = np.asarray(counts)
    if array.ndim != 1 or (array.size and array.dtype.kind not in "iu"):
        raise InputError(f"array of {array.ndim} dimensions of {array.dtype} found; expected one of whole numbers")
    if array.size and (array.min() < COUNTS_MIN or array.max() > COUNTS_MAX):
        wrong = array[((array < COUNTS_MIN) & (array != NO_COUNT)) | (array > COUNTS_MAX)]
        if wrong.size:
            raise InputError(f"{wrong[0]} found; expected counts from {COUNTS_MIN} to {COUNTS_MAX}")
    return np.ascontiguousarray(array, np.int32)


def _unmade(number: int) -> Readings:
    conditioned, fine, divisions = (np.empty(number, np.int32) for _ in range(3))
    return Readings(conditioned, fine, divisions, np.empty(number, np.uint16))


def _weigh_all(
    state: Any, scale: Any, counts: Any, felt: Any, conditioned: Counts, fine: Counts, divisions: Counts, flags: Any
) -> None:
    zero, span, held = felt
    for k in range(len(counts)):
        if len(zero) > 0:
            state[MOVED_ZERO] = zero[k]
            state[MOVED_SPAN] = span[k]
            state[HELD] = held[k]
        if counts[k] == NO_COUNT:
            miss(state, NO_DATA)
        else:
            take(state, scale, counts[k])
        conditioned[k] = state[CONDITIONED]
        fine[k] = state[FINE]
        divisions[k] = state[DIVISIONS]
        flags[k] = state[FLAGS]
