"""The fit of a soak's terms: linear ones directly, time constants by a search, and how far the result can be trusted.

1. Variable projection (G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413): the search runs over the time
   constants only, with the best linear terms for each.
2. Terms are held against one another by F-tests.
3. Noise of a soak is correlated: neighbouring readings share a draught. So residuals are joined into longer and longer
   blocks, and the length that shows the largest variance counts (the blocking method: H. Flyvbjerg, H. G. Petersen,
   J. Chem. Phys. 91 (1989) 461), with the few degrees of freedom it leaves.
4. The thermometer's resolution is an error too: rectangular over one step (JCGM 100:2008, 4.3.7), the same for as long
   as it shows the same value.
"""

from collections.abc import Mapping
from dataclasses import replace
from math import inf, log, sqrt
from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares
from scipy.special import fdtrc

from scalewright.analysis.soak import Array, Blocks, joined
from scalewright.analysis.soak_model import Model, columns
from scalewright.errors import InputError

TRANSIENT_LEVEL = 0.001
"""of significance at which a creep or warm-up term is worth it; strict, since many time constants are tried"""
MOST_CREEP_TERMS = 2
_WARM_UP_WITHIN_S = 3600.0  # of switch-on must a recording begin that can show it
_GRID = 12
_LEAST_FREEDOM = 15
_STEP = 1e-4  # of the logarithm of a time constant
_SINGULAR = 1e-10  # of the normal matrix, scaled


class FTest(NamedTuple):
    """Is a term worth it? The ratio of variances, and the probability of such a one by chance."""

    f: float
    p: float


class Noise(NamedTuple):
    """The scatter about the model."""

    variance: float
    """of one reading, in counts**2, such that means of many readings scatter as if they were independent"""
    degrees_of_freedom: int
    block_s: float
    """the length of the blocks that showed it"""
    has_levelled: bool
    """False: the longest blocks still scatter more than shorter ones by more than chance, so it may be too small"""


class Solution(NamedTuple):
    """The linear terms of a model that fit best."""

    names: tuple[str, ...]
    design: Array
    coefficients: Array
    residuals: Array
    """in counts, of the blocks"""


class Conclusion(NamedTuple):
    """All terms of a model, and how well they are known."""

    names: tuple[str, ...]
    """of the coefficients: the columns of soak_model, then the logarithms of the time constants"""
    coefficients: Array
    covariance: Array
    nets: Mapping[float, float]
    """counts of each load above the empty scale"""
    residuals: Array
    noise: Noise


class SoakProblem:
    """The block means of one soak, and fits of models to them.

    Counts are taken against a level for each load, so that they are small numbers and the net counts that the model
    needs are at hand.
    """

    def __init__(self, blocks: Blocks, reference_c: float, step_c: float = 0.0) -> None:
        self.blocks = blocks
        self.reference_c = reference_c
        self._step_c = step_c
        self.levels = {load: float(np.mean(_of_load(blocks, load))) for load in blocks.loads_g}
        self.nets = self._nets()

    def _nets(self) -> dict[float, float]:
        """Return counts above the lightest load's, which is the empty scale where that was recorded.

        A load that left no block leaves creep behind all the same: it counts by proportion.
        """
        lightest, heaviest = min(self.levels, key=abs), max(self.levels, key=abs)
        nets = {load: level - self.levels[lightest] for load, level in self.levels.items()}
        for dwell in self.blocks.dwells:
            nets.setdefault(dwell.load_g, dwell.load_g * nets[heaviest] / heaviest if heaviest else 0.0)
        return nets

    def solve(self, model: Model) -> Solution:
        """Fit the linear terms."""
        named = columns(self.blocks, model, self.reference_c, self.nets)
        level = np.array([self.levels.get(dwell.load_g, 0.0) for dwell in self.blocks.dwells])[self.blocks.dwell]
        design = np.column_stack(list(named.values()))
        return Solution(
            tuple(named),
            design,
            *_least_squares(design, self.blocks.counts - level, self.blocks.number),
        )

    def refined(self, model: Model) -> Model:
        """Return the model with the time constants that fit best."""
        if not model.time_constants_s:
            return model
        scale = np.sqrt(self.blocks.number)
        low, high = (log(end_s) for end_s in self._reach_s())

        def residuals(logarithms: Array) -> Array:
            return scale * self.solve(model.with_time_constants(tuple(np.exp(logarithms).tolist()))).residuals

        start = np.clip(np.log(model.time_constants_s), low + _STEP, high - _STEP)
        found = least_squares(residuals, start, bounds=(low, high), xtol=_STEP, diff_step=_STEP)
        return model.with_time_constants(tuple(np.exp(found.x).tolist()))

    def with_transients(self, model: Model) -> Model:
        """Add the creep and warm-up terms that are worth it.

        All of them first, for what is left out would pass for noise in the tests of the others; then without those that
        the recording does not ask for. A recording that is too short to tell any is left without.
        """
        if len({dwell.load_g for dwell in self.blocks.dwells}) > 1:
            for _ in range(MOST_CREEP_TERMS * self._has_room(model)):
                creep_s = model.creep_s
                model = self._best([replace(model, creep_s=(*creep_s, constant_s)) for constant_s in self._grid()])
        if self._has_room(model) and self.blocks.dwells[0].start_s < _WARM_UP_WITHIN_S:
            model = self._best([replace(model, warm_up_s=constant_s) for constant_s in self._grid()])
        while model.transients:
            narrower = [self.refined(model.without(name)) for name in model.transients]
            chances = [self.test(narrow, model).p for narrow in narrower]
            if max(chances) < TRANSIENT_LEVEL:
                break
            model = narrower[int(np.argmax(chances))]
        return replace(model, creep_s=tuple(sorted(model.creep_s)))

    def _has_room(self, model: Model) -> bool:
        """Are there blocks enough for all the creep terms beside those of the model?"""
        parameters = len(self.solve(model).names) + len(model.time_constants_s)
        return len(self.blocks.dwell) >= parameters + 2 * MOST_CREEP_TERMS + _LEAST_FREEDOM

    def test(self, narrow: Model, wide: Model) -> FTest:
        """F-test of the terms that `wide` has more, against the scatter that the blocking method finds about it."""
        sums, parameters = [], []
        for model in (narrow, wide):
            solution = self.solve(model)
            sums.append(float(self.blocks.number @ solution.residuals**2))
            parameters.append(len(solution.names) + len(model.time_constants_s))
        noise = blocked_noise(self.blocks, solution.residuals, parameters[1])
        terms = parameters[1] - parameters[0]
        if sums[0] <= sums[1]:
            return FTest(0.0, 1.0)
        f = (sums[0] - sums[1]) / terms / noise.variance if noise.variance else inf
        return FTest(f, float(fdtrc(terms, noise.degrees_of_freedom, f)))

    def conclude(self, model: Model) -> Conclusion:
        """Return all terms of the model with their uncertainties."""
        changes = dict(zip(self.levels, self.solve(model).coefficients.tolist(), strict=False))
        self.levels = {load: level + changes[load] for load, level in self.levels.items()}
        self.nets = self._nets()
        solution = self.solve(model)
        names = solution.names + tuple(f"log time constant of {name}" for name in model.transients)
        design = np.column_stack([solution.design, *self._by_time_constant(model, solution.coefficients)])
        noise = blocked_noise(self.blocks, solution.residuals, len(names))
        coefficients = np.concatenate((solution.coefficients, np.log(model.time_constants_s)))
        coefficients[: len(self.levels)] += list(self.levels.values())
        covariance = self._covariance(design, solution, noise)
        return Conclusion(names, coefficients, covariance, self.nets, solution.residuals, noise)

    def _covariance(self, design: Array, solution: Solution, noise: Noise) -> Array:
        inverse, is_determined = _inverse_normal_matrix(design, self.blocks.number)
        if not is_determined:
            raise InputError(
                "temperature and load always change together, so their effects cannot be told apart",
                remedy="stay at each temperature with and without the load",
            )
        covariance = noise.variance * inverse
        if self._step_c:
            named = dict(zip(solution.names, solution.coefficients, strict=True))
            net = np.array([self.nets[dwell.load_g] for dwell in self.blocks.dwells])[self.blocks.dwell]
            per_c = named.get("zero 1", 0.0) + net * named.get("span 1", 0.0)
            shown = np.round(self.blocks.temperature_c / self._step_c)
            first = np.flatnonzero(np.diff(shown, prepend=np.nan))
            weighted = design * (self.blocks.number * per_c)[:, None]
            levers = np.add.reduceat(weighted, first, axis=0) @ inverse
            covariance += self._step_c**2 / 12 * levers.T @ levers
        return np.asarray(covariance)

    def _best(self, models: list[Model]) -> Model:
        sums = [float(self.blocks.number @ self.solve(model).residuals ** 2) for model in models]
        return self.refined(models[int(np.argmin(sums))])

    def _grid(self) -> list[float]:
        return [float(s) for s in np.geomspace(*self._reach_s(), _GRID)]

    def _reach_s(self) -> tuple[float, float]:
        """Return the time constants between which a transient can be seen.

        A faster one is over before a load has settled, a slower one hardly begins.
        """
        later = self.blocks.since_s[self.blocks.dwell > 0]
        shortest_s = float(np.min(later)) / 3 if len(later) else self.blocks.block_s
        return shortest_s, 2 * (self.blocks.dwells[-1].end_s - self.blocks.dwells[0].start_s)

    def _by_time_constant(self, model: Model, coefficients: Array) -> list[Array]:
        """Return how the model's counts change with the logarithm of each time constant."""
        derivatives = []
        for k in range(len(model.time_constants_s)):
            ends = []
            for factor in (1 + _STEP, 1 - _STEP):
                constants_s = list(model.time_constants_s)
                constants_s[k] *= factor
                changed = model.with_time_constants(tuple(constants_s))
                named = columns(self.blocks, changed, self.reference_c, self.nets)
                ends.append(np.column_stack(list(named.values())) @ coefficients)
            derivatives.append((ends[0] - ends[1]) / (2 * _STEP))
        return derivatives


def _of_load(blocks: Blocks, load_g: float) -> Array:
    load = np.array([dwell.load_g for dwell in blocks.dwells])[blocks.dwell]
    return np.asarray(blocks.counts[load == load_g])


def _least_squares(design: Array, y: Array, weights: Array) -> tuple[Array, Array]:
    """Return coefficients and residuals; where columns depend on one another, one set of coefficients of many."""
    inverse, _ = _inverse_normal_matrix(design, weights)
    coefficients = inverse @ (design.T @ (weights * y))
    return coefficients, y - design @ coefficients


def _inverse_normal_matrix(design: Array, weights: Array) -> tuple[Array, bool]:
    """Return (X' W X)**-1 and whether it is one: directions that the data do not tell are left out of it.

    Columns are scaled alike first: what is left of their dependence costs a few digits of sixteen at most.
    """
    normal = design.T @ (design * weights[:, None])
    size = np.sqrt(np.diagonal(normal))
    size[size == 0] = 1.0
    values, vectors = np.linalg.eigh(normal / np.outer(size, size))
    told = values > _SINGULAR
    inverse = vectors[:, told] / values[told] @ vectors[:, told].T
    return np.asarray(inverse / np.outer(size, size)), bool(np.all(told))


def blocked_noise(blocks: Blocks, residuals: Array, parameters: int) -> Noise:
    """Return the scatter of the residuals as the blocking method finds it."""
    found: list[Noise] = []
    while True:
        several = 1 << len(found)
        number, means, block_s = joined(blocks, residuals, several)
        freedom = len(means) - parameters
        if freedom < (_LEAST_FREEDOM if found else 1):
            break
        found.append(Noise(float(number @ means**2) / freedom, freedom, block_s, True))
    if not found:
        raise InputError(f"too short: {len(blocks.dwell)} means of readings for {parameters} unknowns")
    most = max(found, key=lambda noise: noise.variance)
    chance = 1 + 2 * sqrt(2 / most.degrees_of_freedom)
    return most._replace(has_levelled=found[-1].variance < chance * found[max(len(found) - 2, 0)].variance)
