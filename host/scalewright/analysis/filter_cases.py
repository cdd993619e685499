"""Counts to try filters on: loads made up with white noise, or the loads of a recording."""

from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from scalewright.analysis.filter_comparison import Loads
from scalewright.analysis.filters import Integers
from scalewright.errors import InputError
from scalewright.recording_reader import NO_COUNT, read_pieces

STEPS = (0.5, 1.0, 2.0, 3.0, 10.0, 1000.0)
"""standard deviations of the noise"""
_EMPTY = 1_000_000  # counts
_DWELL = 600  # readings
_POUR = 200
_LEAST_DWELL = 16


def steps(size: float, sigma: float, number: int, source: np.random.Generator) -> Loads:
    """Return so many loads of `size` counts, put on and taken off again at once."""
    levels = _EMPTY + size * (np.arange(number + 1) % 2)
    changes = np.arange(1, number + 1) * _DWELL
    return _noisy(levels.repeat(_DWELL), changes, changes + _DWELL, sigma, source)


def pours(size: float, sigma: float, number: int, source: np.random.Generator) -> Loads:
    """Return so many loads of `size` counts that are put on or taken off bit by bit, over 200 readings."""
    way = np.concatenate((np.linspace(0, 1, _POUR, endpoint=False), np.ones(_DWELL)))
    pairs = np.concatenate((way, 1 - way))
    level = _EMPTY + size * np.tile(pairs, (number + 1) // 2)
    changes = np.arange(0, len(level), _POUR + _DWELL) + _POUR
    return _noisy(level, changes, changes + _DWELL, sigma, source)


def weighings(sigma: float, number: int, source: np.random.Generator) -> Loads:
    """Return loads as they come: of 1 to 10 000 sigma, up and down, at once or over up to 400 readings; spikes too."""
    heights = np.cumsum(source.choice([-1, 1], number) * sigma * 10 ** source.uniform(0, 4, number)) + _EMPTY
    lengths = np.where(source.random(number) < 0.5, 0, source.integers(1, 400, number))
    pieces, before = [], float(_EMPTY)
    for height, length in zip(heights, lengths, strict=True):
        pieces += [np.linspace(before, height, length, endpoint=False), np.full(_DWELL, height)]
        before = float(height)
    changes = np.cumsum(lengths + _DWELL) - _DWELL
    loads = _noisy(np.concatenate(pieces), changes, changes + _DWELL, sigma, source)
    spikes = source.random(len(loads.counts)) < 1e-3
    loads.counts[spikes] += round(1000 * sigma)
    return loads


def generated(sigma: float, number: int, seed: int) -> tuple[dict[str, Loads], Loads]:
    """Return cases by name, and weighings; sigma: of the noise, in counts."""
    source = np.random.default_rng(seed)
    cases = {f"step of {size:g} sigma": steps(size * sigma, sigma, number, source) for size in STEPS}
    cases["pour of 1000 sigma"] = pours(1000 * sigma, sigma, number, source)
    return cases, weighings(sigma, number, source)


def recorded(path: str) -> Loads:
    """Return the loads of a recording whose load_g says what was on; true counts: the mean of the later half of each.

    Raises InputError where there are too few.
    """
    pieces = list(read_pieces(path))
    counts = np.concatenate([np.frombuffer(piece.counts, np.int32) for piece in pieces]).astype(np.int64)
    load_g = np.concatenate([np.frombuffer(piece.load_g) for piece in pieces])[counts != NO_COUNT]
    counts = counts[counts != NO_COUNT]
    if np.isnan(load_g).any():
        raise InputError("empty cells found; expected the load that was on at each reading", file=path, column="load_g")
    changes = np.flatnonzero(np.diff(load_g)) + 1
    borders = np.concatenate(([0], changes, [len(counts)]))
    if not len(changes) or np.diff(borders).min() < _LEAST_DWELL:
        raise InputError(f"expected two loads or more, each for {_LEAST_DWELL} readings or more", file=path)
    level = [np.full(end - first, counts[(first + end) // 2 : end].mean()) for first, end in pairwise(borders)]
    return Loads(counts, np.concatenate(level), changes, borders[2:])


def _noisy(
    level: npt.NDArray[np.floating[Any]], changes: Integers, ends: Integers, sigma: float, source: np.random.Generator
) -> Loads:
    counts = np.rint(level + source.normal(0, sigma, len(level))).astype(np.int64)
    return Loads(counts, level.astype(np.float64), changes, ends)
