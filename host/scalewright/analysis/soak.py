"""A recording cut where the load changes, and into block means: what drift and creep are found from."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scalewright.errors import InputError

Array = npt.NDArray[np.float64]
SETTLE_S = 10.0
"""OIML R 60-2:2021, table 1: a load up to 10 kg is on and settled in 10 s, classes C and D"""
_USUAL_BLOCKS = 600
_LEAST_READINGS = 4
_GROWTH = 0.1  # of a block, as a part of the time since the load changed: creep is fast at first
_SMOOTHING_S = 40.0  # of the temperature, for its rate of change; short beside the minutes a cell takes to follow
_SIDE = 4  # points of an even grid to either side


@dataclass(frozen=True)
class Dwell:
    """A stretch of a recording with one load on the scale."""

    load_g: float
    start_s: float
    end_s: float
    first: int
    """its first reading"""
    last: int
    """one past its last reading"""

    @property
    def duration_s(self) -> float:
        return self.end_s - self.start_s


@dataclass(frozen=True)
class Soak:
    """A recording as arrays, one element a reading: device time, raw counts, temperature of the scale, load.

    Temperatures may be nan where there was none; loads are known throughout.
    """

    time_s: Array
    counts: Array
    temperature_c: Array
    load_g: Array

    def __post_init__(self) -> None:
        if len(self.time_s) < 2 * _LEAST_READINGS:
            raise InputError(f"{len(self.time_s)} readings; expected {2 * _LEAST_READINGS} at least")
        if not np.all(np.diff(self.time_s) > 0):
            raise InputError("the times do not rise from reading to reading", remedy="one power-up of the scale a file")

    @property
    def has_temperature(self) -> bool:
        return bool(np.any(np.isfinite(self.temperature_c)))

    def dwells(self) -> tuple[Dwell, ...]:
        """Return the stretches of constant load, in order."""
        first = np.flatnonzero(np.concatenate(([True], np.diff(self.load_g) != 0)))
        last = np.append(first[1:], len(self.load_g))
        interval_s = np.minimum(np.diff(self.time_s)[first[1:] - 1], np.median(np.diff(self.time_s)))
        changes_s = self.time_s[first[1:]] - interval_s / 2  # at some moment before the first reading
        edges_s = [float(self.time_s[0]), *changes_s.tolist(), float(self.time_s[-1])]
        return tuple(
            Dwell(float(self.load_g[a]), start_s, end_s, int(a), int(b))
            for a, b, start_s, end_s in zip(first, last, edges_s, edges_s[1:], strict=False)
        )

    @property
    def temperature_step_c(self) -> float:
        """The resolution of the thermometer: the smallest change that it ever showed; 0 where it showed none."""
        known = self.temperature_c[np.isfinite(self.temperature_c)]
        changes = np.abs(np.diff(known))
        return float(np.min(changes[changes > 0], initial=np.inf)) if np.any(changes > 0) else 0.0


@dataclass(frozen=True)
class Blocks:
    """Means over blocks of readings; no block reaches over a change of load."""

    middle_s: Array
    half_s: Array
    """half of each block's length"""
    counts: Array
    temperature_c: Array
    rate_c_per_s: Array
    """how fast the temperature changes, from a smoothed course of it"""
    number: Array
    """readings in each block"""
    dwell: npt.NDArray[np.intp]
    """which stretch of constant load each block lies in"""
    dwells: tuple[Dwell, ...]

    @property
    def since_s(self) -> Array:
        """The time since the load changed, at the middle of each block."""
        return np.asarray(self.middle_s - np.array([dwell.start_s for dwell in self.dwells])[self.dwell])

    @property
    def block_s(self) -> float:
        """The usual length of a block."""
        return 2 * float(np.median(self.half_s))

    @property
    def loads_g(self) -> tuple[float, ...]:
        """The different loads, from the lightest."""
        return tuple(sorted({self.dwells[k].load_g for k in np.unique(self.dwell)}))


def block_means(soak: Soak, settle_s: float = SETTLE_S) -> Blocks:
    """Return means over as many blocks as can be handled fast; the first settle_s of each load are left out.

    Temperatures that are missing are taken from those before and after. Raises InputError where nothing is left.
    """
    dwells = soak.dwells()
    interval_s = float(np.median(np.diff(soak.time_s)))
    longest_s = max((soak.time_s[-1] - soak.time_s[0]) / _USUAL_BLOCKS, _LEAST_READINGS * interval_s)
    edges = [_edges(soak, dwell, settle_s if k else 0.0, longest_s) for k, dwell in enumerate(dwells)]
    if not any(len(part) > 1 for part in edges):
        raise InputError(f"no load stood for more than {settle_s:g} s")
    first = np.concatenate([part[:-1] for part in edges])
    last = np.concatenate([part[1:] for part in edges])
    middle_s = _means(soak.time_s, first, last)
    temperature_c = _means(_between_steps(soak.time_s, soak.temperature_c), first, last)
    return Blocks(
        middle_s,
        (last - first) * interval_s / 2,
        _means(soak.counts, first, last),
        temperature_c,
        _rate(middle_s, temperature_c),
        (last - first).astype(float),
        np.repeat(np.arange(len(dwells)), [max(len(part) - 1, 0) for part in edges]),
        dwells,
    )


def joined(blocks: Blocks, values: Array, several: int) -> tuple[Array, Array, float]:
    """Return (readings, mean value) of blocks made of `several` neighbours under one load, and their usual length in s.

    The last of a stretch may be made of fewer, but at least half as many; what is shorter joins the one before.
    """
    first: list[int] = []
    for k in np.unique(blocks.dwell):
        mine = np.flatnonzero(blocks.dwell == k)
        first += mine[:: several][: max((len(mine) + several // 2) // several, 1)].tolist()
    number = np.add.reduceat(blocks.number, first)
    length_s = np.add.reduceat(2 * blocks.half_s, first)
    return number, np.add.reduceat(values * blocks.number, first) / number, float(np.median(length_s))


def _edges(soak: Soak, dwell: Dwell, settle_s: float, longest_s: float) -> npt.NDArray[np.intp]:
    """Return the readings at which blocks begin in a stretch of constant load, and one past the last; [] for none."""
    since_s = soak.time_s[dwell.first : dwell.last] - dwell.start_s
    edges = [int(np.searchsorted(since_s, settle_s))]
    while edges[-1] < len(since_s):
        start_s = float(since_s[edges[-1]])
        end = int(np.searchsorted(since_s, start_s + min(_GROWTH * start_s, longest_s)))
        edges.append(max(end, edges[-1] + _LEAST_READINGS))
    if len(edges) > 1 and edges[-1] > len(since_s):
        edges = [*edges[:-2], len(since_s)] if len(edges) > 2 else []
    return np.array(edges, dtype=np.intp) + dwell.first


def _means(values: Array, first: npt.NDArray[np.intp], last: npt.NDArray[np.intp]) -> Array:
    sums = np.concatenate(([0.0], np.cumsum(values - values[0])))
    return np.asarray(values[0] + (sums[last] - sums[first]) / (last - first))


def _between_steps(time_s: Array, temperature_c: Array) -> Array:
    """Return the temperature at each reading, nan filled in, finer than its steps of 1/16 C or so.

    A slow course is known best where its last digit changes: there it is half-way between the two values. Between two
    such moments it passes what was read at half-time, and is taken as straight.
    """
    known = np.isfinite(temperature_c)
    if not np.any(known):
        return np.zeros(len(time_s))
    at_s, read_c = time_s[known], temperature_c[known]
    steps = np.flatnonzero(np.diff(read_c))
    edges_s = np.concatenate((at_s[:1], (at_s[steps] + at_s[steps + 1]) / 2, at_s[-1:]))
    edges_c = np.concatenate((read_c[:1], (read_c[steps] + read_c[steps + 1]) / 2, read_c[-1:]))
    middles_s = (edges_s[:-1] + edges_s[1:]) / 2
    middles_c = read_c[np.append(steps, len(read_c) - 1)]
    order = np.argsort(np.concatenate((edges_s, middles_s)), kind="stable")
    moments_s, values_c = np.concatenate((edges_s, middles_s))[order], np.concatenate((edges_c, middles_c))[order]
    return np.asarray(np.interp(time_s, moments_s, values_c))


def _rate(time_s: Array, temperature_c: Array) -> Array:
    """Return dT/dt: the slope of local parabolas through 9 points of an even grid (A. Savitzky, M. Golay, 1964).

    Their coefficients are -4 ... 4 over the sum of the squares, 60 (Anal. Chem. 36, 1627, table IV).
    """
    step_s = _SMOOTHING_S / (2 * _SIDE + 1)
    grid_s = np.arange(time_s[0], time_s[-1], step_s)
    if len(grid_s) <= 2 * _SIDE + 1:
        return np.zeros(len(time_s))
    places = np.arange(_SIDE, -_SIDE - 1, -1)
    padded_c = np.pad(np.interp(grid_s, time_s, temperature_c), _SIDE, mode="edge")
    rate = np.convolve(padded_c, places, mode="valid") / (places @ places) / step_s
    return np.asarray(np.interp(time_s, grid_s, rate))
