"""How quiet and how quick filters are: noise, settling, false rest and spikes, side by side on the same counts.

Every filter is held beside the mean of the readings since the last change, R**2 of them at most, where R is its noise
reduction: that mean is told when the load changes, so a filter that has to find out can at best settle as soon.
Settled: from then on 95 % of the loads lie within the band.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from scalewright.analysis.filters import Array, Filter, Integers, mean_since

SHARE = 0.95
BAND = 3.0
"""standard deviations of the noise that is left"""
_SPIKE = 1000.0  # standard deviations of the noise


@dataclass(frozen=True)
class Loads:
    """Counts under loads that change, and what they would be without noise."""

    counts: Integers
    level: Array
    changes: Integers
    """the first reading at each new load"""
    ends: Integers
    """one past the last reading at each: there the next load comes, at once or bit by bit"""

    def dwells(self) -> list[tuple[int, int]]:
        """Return the first reading at each load and one past its last."""
        return list(zip(self.changes.tolist(), self.ends.tolist(), strict=True))

    def later_halves(self) -> Integers:
        """Return which readings are in the later half of a dwell."""
        return np.concatenate([np.arange((first + end) // 2, end) for first, end in self.dwells()])


@dataclass(frozen=True)
class Settling:
    """Readings from the change of the load until it is settled; None: not before the next change."""

    readings: int | None
    ideal: int | None
    """those of the mean that is told when the load changes"""

    @property
    def ratio(self) -> float | None:
        return self.readings / self.ideal if self.readings and self.ideal else None


@dataclass(frozen=True)
class Verdict:
    """What one filter does."""

    name: str
    noise_reduction: float
    """standard deviation of the counts over that of the filtered ones, in the later half of every dwell"""
    to_noise: Mapping[str, Settling]
    """by case: to within BAND standard deviations of the noise that is left"""
    to_division: Mapping[str, Settling]
    """by case: to within half a division"""
    at_rest: float
    """share of readings that are taken to be at rest"""
    false_at_rest: float
    """share of those that are more than half a division off"""
    spike: float
    """how far a spike of one reading moves the result, as a part of the spike; 95 % of spikes do not move it further"""

    @property
    def fixed_weights(self) -> int:
        """The readings that the shortest filter of fixed weights takes for that noise reduction."""
        return round(self.noise_reduction**2)


def judge(one: Filter, cases: Mapping[str, Loads], mixed: Loads, half_division: float) -> Verdict:
    """Return the verdict on a filter. cases: settling is told for each; mixed: at rest is told for it.

    half_division: in counts.
    """
    filtered = {case: one.filtered(loads.counts) for case, loads in cases.items()}
    noise = _standard_deviation(cases, {case: loads.counts for case, loads in cases.items()})
    left = _standard_deviation(cases, filtered)
    number = max(1, round((noise / left) ** 2))
    ideal = {case: mean_since(loads.counts, loads.changes, number) for case, loads in cases.items()}

    def settling(band: float) -> dict[str, Settling]:
        return {
            case: Settling(settled_after(filtered[case], loads, band), settled_after(ideal[case], loads, band))
            for case, loads in cases.items()
        }

    rests = one.at_rest(mixed.counts, half_division)
    off = np.abs(one.filtered(mixed.counts) - mixed.level) > half_division
    return Verdict(
        name=one.name,
        noise_reduction=noise / left,
        to_noise=settling(BAND * left),
        to_division=settling(half_division),
        at_rest=float(rests.mean()),
        false_at_rest=float((rests & off).sum() / max(1, rests.sum())),
        spike=_spike(one, next(iter(cases.values())), noise),
    )


def settled_after(filtered: Array, loads: Loads, band: float) -> int | None:
    """Return how many readings after the change SHARE of the loads are within the band for good, 1 for the first."""
    dwells = loads.dwells()
    shortest = min(end - first for first, end in dwells)
    inside = np.abs(filtered - loads.level) <= band
    share = np.mean([inside[first : first + shortest] for first, _ in dwells], axis=0)
    outside = np.flatnonzero(share < SHARE)
    if not outside.size:
        return 1
    return int(outside[-1]) + 2 if outside[-1] + 1 < shortest else None


def _standard_deviation(cases: Mapping[str, Loads], filtered: Mapping[str, Array | Integers]) -> float:
    later = {case: loads.later_halves() for case, loads in cases.items()}
    off = np.concatenate([filtered[case][later[case]] - loads.level[later[case]] for case, loads in cases.items()])
    return float(np.sqrt(np.mean(off**2)))


def _spike(one: Filter, loads: Loads, noise: float) -> float:
    """Put a spike into the later half of every dwell, and look how far what comes out of the filter moves."""
    height = round(_SPIKE * noise)
    spiked = loads.counts.copy()
    spiked[[(first + 3 * end) // 4 for first, end in loads.dwells()]] += height
    moved = np.abs(one.filtered(spiked) - one.filtered(loads.counts))
    return float(np.quantile([moved[first:end].max() for first, end in loads.dwells()], SHARE)) / height
