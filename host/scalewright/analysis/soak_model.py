"""What the counts of a soak are made of, as columns of a linear model, given time constants and net counts.

    counts = level of the load                                              one for each load
           + z1 (T - Tr) + z2 (T - Tr)**2 + zr dT/dt                        temperature of the zero
           + net * (s1 (T - Tr) + s2 (T - Tr)**2 + sr dT/dt)                temperature of the span
           + sum over k of c_k * m_k, where T_k dm_k/dt = net - m_k         creep: share c_k, time constant T_k
           + w exp(-t / T_w), t since switch-on                             warm-up

`net` is the level of the load less that of the empty scale. The terms in dT/dt take what a sensor that is late, or a
cell that is not warm throughout, adds while the temperature changes; without them that would pass for an effect of
temperature. Creep follows the whole history of the load, so it recovers as it came (linear viscoelasticity).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import exp

import numpy as np

from scalewright.analysis.soak import Array, Blocks

_LONGEST_BLOCK = 30.0  # time constants in half a block; beyond it sinh is out of range and the term is 0 anyway


@dataclass(frozen=True)
class Model:
    """Which terms there are."""

    zero_degree: int
    span_degree: int
    has_rate: bool
    """are there terms in dT/dt?"""
    creep_s: tuple[float, ...] = ()
    """time constants"""
    warm_up_s: float | None = None

    @property
    def time_constants_s(self) -> tuple[float, ...]:
        """Those of creep, then that of the warm-up."""
        return self.creep_s + (() if self.warm_up_s is None else (self.warm_up_s,))

    @property
    def transients(self) -> list[str]:
        """The names of the terms that have a time constant, in that order."""
        names = [f"creep {k}" for k in range(1, len(self.creep_s) + 1)]
        return names if self.warm_up_s is None else [*names, "warm-up"]

    def without(self, transient: str) -> "Model":
        """Return the terms without one of those that have a time constant, by its name."""
        if transient == "warm-up":
            return replace(self, warm_up_s=None)
        k = int(transient.split()[1]) - 1
        return replace(self, creep_s=self.creep_s[:k] + self.creep_s[k + 1 :])

    def degree(self, kind: str) -> int:
        """Return the degree of "zero" or "span"."""
        return self.zero_degree if kind == "zero" else self.span_degree

    def with_degree(self, kind: str, degree: int) -> "Model":
        """Return the same terms but for the degree of "zero" or "span"."""
        return replace(self, zero_degree=degree) if kind == "zero" else replace(self, span_degree=degree)

    def with_time_constants(self, time_constants_s: tuple[float, ...]) -> "Model":
        """Return the same terms with other time constants, in the same order."""
        creep_s = time_constants_s[: len(self.creep_s)]
        return replace(self, creep_s=creep_s, warm_up_s=None if self.warm_up_s is None else time_constants_s[-1])


def columns(blocks: Blocks, model: Model, reference_c: float, nets: Mapping[float, float]) -> dict[str, Array]:
    """Return the columns of the model by their names; nets: counts of each load above the empty scale."""
    warmer_c = blocks.temperature_c - reference_c
    load_g = np.array([dwell.load_g for dwell in blocks.dwells])[blocks.dwell]
    net = np.array([nets[dwell.load_g] for dwell in blocks.dwells])[blocks.dwell]
    found = {f"level {load:g} g": (load_g == load).astype(float) for load in blocks.loads_g}
    found |= {f"zero {power}": warmer_c**power for power in range(1, model.zero_degree + 1)}
    found |= {f"span {power}": net * warmer_c**power for power in range(1, model.span_degree + 1)}
    if model.has_rate and model.zero_degree:
        found["zero rate"] = blocks.rate_c_per_s
    if model.has_rate and model.span_degree:
        found["span rate"] = net * blocks.rate_c_per_s
    found |= {f"creep {k}": _crept(blocks, nets, constant_s) for k, constant_s in enumerate(model.creep_s, 1)}
    if model.warm_up_s is not None:
        found["warm-up"] = _mean_decay(blocks, blocks.middle_s, model.warm_up_s)
    return found


def _crept(blocks: Blocks, nets: Mapping[float, float], constant_s: float) -> Array:
    """Return what has been crept of 1 count for each count of load; at the start all of it, as after a long rest."""
    starts = []
    crept = nets[blocks.dwells[0].load_g]
    for dwell in blocks.dwells:
        starts.append(crept)
        net = nets[dwell.load_g]
        crept = net + (crept - net) * exp(-dwell.duration_s / constant_s)
    final = np.array([nets[dwell.load_g] for dwell in blocks.dwells])
    to_come = (np.array(starts) - final)[blocks.dwell] * _mean_decay(blocks, blocks.since_s, constant_s)
    return np.asarray(final[blocks.dwell] + to_come)


def _mean_decay(blocks: Blocks, since_s: Array, constant_s: float) -> Array:
    """Return the mean of exp(-t / constant) over each block: exp at its middle, times sinh(h) / h."""
    h = np.minimum(blocks.half_s / constant_s, _LONGEST_BLOCK)
    return np.asarray(np.exp(-since_s / constant_s) * np.sinh(h) / h)
