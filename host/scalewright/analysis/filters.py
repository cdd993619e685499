"""The device's filter and usual ones over whole recordings: counts in, filtered counts out, nothing from the future."""

from collections.abc import Callable
from dataclasses import dataclass
from math import pi
from types import FunctionType
from typing import Any, TypeAlias, cast

import numpy as np
import numpy.typing as npt

from scalewright.analysis.compiled import IS_AVAILABLE, compiled
from shared_calc.chain_state import LONGEST_MEAN, STRAY, new_state
from shared_calc.conditioning import condition
from shared_calc.stability import is_at_rest

Array: TypeAlias = npt.NDArray[np.float64]
Integers: TypeAlias = npt.NDArray[np.int64]
Marks: TypeAlias = npt.NDArray[np.bool_]
_PARTS = 16  # of a count, to which filtered counts are compared


@dataclass(frozen=True)
class Filter:
    """A filter with a name, and when shared_calc.stability takes a load to be at rest behind it."""

    name: str
    filtered: Callable[[Integers], Array]

    def at_rest(self, counts: Integers, half_division: float) -> Marks:
        """Mark the readings at which the load is taken to be at rest. half_division: in counts."""
        return _at_rest(self.filtered(counts), half_division)


@dataclass(frozen=True)
class DeviceFilter(Filter):
    """shared_calc.conditioning, with a mean of `longest` readings at most."""

    longest: int

    def at_rest(self, counts: Integers, half_division: float) -> Marks:
        """Mark the readings at rest as the measuring chain does: a stray is not."""
        filtered, strays = _conditioned(counts, self.longest)
        return _at_rest(filtered, half_division) & ~strays


def filters(longest: int = LONGEST_MEAN) -> list[Filter]:
    """Return the device's filter, then usual ones that reduce white noise as much, then none at all.

    The standard deviation goes down by sqrt(n) for a mean of n, sqrt(2 n - 1) for the exponential one with weight 1 / n
    and sqrt(2 n / pi) for a median of many.
    """
    number = 2 * longest - 1
    odd = round(number * pi / 2) | 1
    return [
        DeviceFilter(f"device, {longest}", lambda counts: _conditioned(counts, longest)[0], longest),
        Filter(f"moving mean, {number}", lambda counts: moving_mean(counts, number)),
        Filter(f"exponential mean, {longest}", lambda counts: exponential_mean(counts, longest)),
        Filter(f"running median, {odd}", lambda counts: running_median(counts, odd)),
        Filter("none", lambda counts: counts.astype(np.float64)),
    ]


def moving_mean(counts: Integers, number: int) -> Array:
    """Return the mean of the last `number` readings, of fewer at the beginning."""
    return mean_since(counts, np.empty(0, np.int64), number)


def mean_since(counts: Integers, changes: Integers, number: int) -> Array:
    """Return the mean of the readings since the last change, the last `number` at most: no filter can do better.

    It is told when the load changes, which no filter is. In white noise no other mean of these readings has a smaller
    variance (Gauss-Markov theorem).
    """
    sums = np.concatenate(([0], np.cumsum(counts - counts[0])))
    last = np.arange(1, len(counts) + 1)
    since = np.concatenate(([0], changes))[np.searchsorted(changes, last - 1, side="right")]
    first = np.maximum(last - number, since)
    return np.asarray(counts[0] + (sums[last] - sums[first]) / (last - first), np.float64)


def exponential_mean(counts: Integers, number: float) -> Array:
    """Return the mean in which each reading counts for 1 / number and those before it for the rest."""
    from scipy.signal import lfilter

    weight = 1 / number
    return np.asarray(counts[0] + lfilter([weight], [1, weight - 1], counts - float(counts[0])), np.float64)


def running_median(counts: Integers, number: int) -> Array:
    """Return the median of the last `number` readings, an odd number of them."""
    from scipy.ndimage import median_filter

    filtered = median_filter(counts - counts[0], size=number, origin=number // 2, mode="nearest")
    return np.asarray(filtered + counts[0], np.float64)


def _conditioned(counts: Integers, longest: int) -> tuple[Array, Marks]:
    """Return the conditioned counts, and which counts were strays."""
    out, strays = np.empty(len(counts), np.int64), np.empty(len(counts), np.int64)
    _run(_condition_all, new_state(longest), counts, out, strays)
    return out.astype(np.float64), strays.astype(np.bool_)


def _at_rest(values: Array, half_division: float) -> Marks:
    said = np.empty(len(values), np.int64)
    fine = np.rint((values - values[0]) * _PARTS).astype(np.int64)
    _run(_rest_all, new_state(), fine, round(half_division * _PARTS), said)
    return said.astype(np.bool_)


def _run(loop: object, state: list[int], *arrays: Any) -> None:
    if IS_AVAILABLE:
        compiled(cast(FunctionType, loop))(np.array(state, np.int64), *arrays)
    else:
        cast(FunctionType, loop)(state, *arrays)


def _condition_all(state: Any, counts: Any, out: Any, strays: Any) -> None:
    for k in range(len(counts)):
        out[k] = condition(state, counts[k])
        strays[k] = state[STRAY]


def _rest_all(state: Any, fine: Any, half_division: Any, said: Any) -> None:
    for k in range(len(fine)):
        said[k] = is_at_rest(state, fine[k], half_division)
