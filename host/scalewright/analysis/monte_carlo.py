"""Propagation of distributions by a Monte Carlo method, and what it says of a budget (JCGM 101:2008).

Draws come in blocks that fit the processor's cache. Every few blocks have a generator of their own, spawned from one
seed: the same seed gives the same draws, and more draws begin with those that fewer would have been.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, sqrt

import numpy as np

from scalewright.analysis.budget import DIVISORS, PROBABILITY, Component, check_correlations
from scalewright.analysis.calibration_function import Array
from scalewright.analysis.propagation import Model
from scalewright.errors import InputError, MeasurementError

BLOCK = 4000
_FEWEST_RUNS = 10  # the clause lets two runs decide, whose agreement may be chance
_BLOCKS_A_GENERATOR = 16  # to spawn and seed one takes as long as 7 % of a block
Correlations = Mapping[tuple[str, str], float]
Interval = tuple[float, float]


@dataclass(frozen=True)
class MonteCarlo:
    """The draws of a result, and what follows from them."""

    values: Array
    """in the order they were drawn"""

    @property
    def estimate(self) -> float:
        return float(self.values.mean())

    @property
    def u(self) -> float:
        """Standard uncertainty (JCGM 101:2008, 7.6)."""
        return float(self.values.std(ddof=1))

    def symmetric_interval(self, probability: float = PROBABILITY) -> Interval:
        """Return the interval that leaves as many draws below it as above (7.7.2)."""
        inside = self._number_inside(probability)
        first = (len(self.values) - inside + 1) // 2 - 1
        parted = np.partition(self.values, [first, first + inside])  # quicker than to sort
        return float(parted[first]), float(parted[first + inside])

    def shortest_interval(self, probability: float = PROBABILITY) -> Interval:
        """Return the shortest interval that holds this share of the draws (7.7.3)."""
        inside = self._number_inside(probability)
        ordered = np.sort(self.values)
        first = int(np.argmin(ordered[inside:] - ordered[:-inside]))
        return float(ordered[first]), float(ordered[first + inside])

    def _number_inside(self, probability: float) -> int:
        inside = int(probability * len(self.values) + 0.5)
        if not 0 < inside < len(self.values):
            raise InputError(f"{len(self.values)} draws; expected enough to leave some outside {probability:.4g}")
        return inside


def monte_carlo(
    model: Model, inputs: Sequence[Component], draws: int, *, seed: int = 0, correlations: Correlations | None = None
) -> MonteCarlo:
    """Return so many draws of a model's one output; the inputs' sensitivities play no part.

    Correlated inputs are drawn from a joint normal distribution. Raises InputError where such an input has another one,
    or the correlation coefficients contradict one another.
    """
    values = np.empty(ceil(draws / BLOCK) * BLOCK)
    blocks = input_blocks(inputs, seed, correlations or {})
    for start in range(0, draws, BLOCK):
        values[start : start + BLOCK] = model(next(blocks))
    return MonteCarlo(values[:draws])


def adaptive_monte_carlo(
    model: Model,
    inputs: Sequence[Component],
    *,
    digits: int = 2,
    probability: float = PROBABILITY,
    seed: int = 0,
    correlations: Correlations | None = None,
    finer: float = 1.0,
    most_draws: int = 20_000_000,
) -> MonteCarlo:
    """Return as many draws as make estimate, u and both ends of the shortest interval sure to the tolerance (7.9.4).

    digits: significant ones of u that count. finer: divides the tolerance; 5 where a budget is to be validated (8.2).
    Raises MeasurementError where `most_draws` (8 bytes each) do not suffice.
    """
    blocks_a_run = ceil(max(100 / (1 - probability), 10_000) / BLOCK)
    blocks = input_blocks(inputs, seed, correlations or {})
    runs: list[MonteCarlo] = []
    results: list[tuple[float, ...]] = []
    while len(runs) * blocks_a_run * BLOCK < most_draws:
        run = MonteCarlo(np.concatenate([np.broadcast_to(model(next(blocks)), BLOCK) for _ in range(blocks_a_run)]))
        runs.append(run)
        results.append((run.estimate, run.u, *run.shortest_interval(probability)))
        if len(runs) >= _FEWEST_RUNS and _settled(np.array(results), digits, finer):
            return MonteCarlo(np.concatenate([run.values for run in runs]))
    raise MeasurementError(f"{most_draws} draws do not settle {digits} digits", "ask for fewer digits")


def numerical_tolerance(u: float, digits: int) -> float:
    """Return half a unit of the last of so many significant digits of u (7.9.2)."""
    exponent = int(f"{u:.{digits - 1}e}".partition("e")[2])
    return 0.5 * 10.0 ** (exponent - digits + 1)


@dataclass(frozen=True)
class Validation:
    """Whether a budget's coverage interval stands beside that of a Monte Carlo calculation (clause 8)."""

    difference_low: float
    difference_high: float
    tolerance: float

    @property
    def holds(self) -> bool:
        return max(self.difference_low, self.difference_high) <= self.tolerance


def validate(interval: Interval, drawn: Interval, u: float, digits: int = 2) -> Validation:
    """Return how far the ends of an interval lie from the drawn ones, and how far they may: the tolerance of u."""
    low, high = (abs(ours - theirs) for ours, theirs in zip(interval, drawn, strict=True))
    return Validation(low, high, numerical_tolerance(u, digits))


def generators(seed: int) -> Iterator[np.random.Generator]:
    """Yield the generator of each block in turn, for ever."""
    root = np.random.SeedSequence(seed)
    while True:
        generator = np.random.Generator(np.random.PCG64(root.spawn(1)[0]))
        for _ in range(_BLOCKS_A_GENERATOR):
            yield generator


def input_blocks(inputs: Sequence[Component], seed: int, correlations: Correlations) -> Iterator[Array]:
    """Yield draws of all inputs, shape (n, BLOCK), for ever."""
    mix = _mixing(inputs, correlations) if correlations else None
    estimate = np.array([[i.estimate] for i in inputs])
    scale = np.array([[i.u] for i in inputs])
    for generator in generators(seed):
        standard = np.array([_STANDARD[i.distribution](generator, i.degrees_of_freedom) for i in inputs])
        yield estimate + scale * (standard if mix is None else np.einsum("ij,jb->ib", mix, standard))


def _triangular(generator: np.random.Generator, _: float) -> Array:
    return DIVISORS["triangular"] * (generator.random(BLOCK) + generator.random(BLOCK) - 1)


# Mean 0 and standard deviation 1 (t: scale 1), JCGM 101:2008, 6.4.
_STANDARD: dict[str, Callable[[np.random.Generator, float], Array]] = {
    "normal": lambda generator, _: generator.standard_normal(BLOCK),
    "rectangular": lambda generator, _: DIVISORS["rectangular"] * (2 * generator.random(BLOCK) - 1),
    "triangular": _triangular,
    "arcsine": lambda generator, _: DIVISORS["arcsine"] * np.sin(2 * np.pi * generator.random(BLOCK)),
    "t": lambda generator, freedom: generator.standard_t(freedom, BLOCK),
}


def _mixing(inputs: Sequence[Component], correlations: Correlations) -> Array:
    """Return the square root of the correlation matrix, which may be singular."""
    names = [i.name for i in inputs]
    check_correlations(names, correlations)
    matrix = np.eye(len(names))
    for pair, r in correlations.items():
        one, other = (names.index(name) for name in pair)
        matrix[one, other] = matrix[other, one] = r
        for correlated in (inputs[one], inputs[other]):
            if correlated.distribution != "normal":
                found = f"{correlated.name} is correlated and {correlated.distribution}"
                raise InputError(f"{found}; expected a normal distribution")
    variances, vectors = np.linalg.eigh(matrix)
    if variances[0] < -1e-9:
        raise InputError("the correlation coefficients contradict one another: their matrix is not positive")
    return np.asarray(vectors * np.sqrt(np.maximum(variances, 0)))


def _settled(results: Array, digits: int, finer: float) -> bool:
    """Is twice the standard deviation of each averaged result below the tolerance? A row a run: y, u, low, high."""
    runs = len(results)
    spread = 2 * results.std(axis=0, ddof=1) / sqrt(runs)
    u = sqrt(float((results[:, 1] ** 2).mean() + results[:, 0].var()))
    return bool((spread <= numerical_tolerance(u, digits) / finer).all())
