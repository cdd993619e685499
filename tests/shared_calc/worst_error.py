"""How far an evaluation is from the exact curve, in ADC counts, over every count that the curve covers.

The integers are those of shared_calc.curve itself, on arrays of 32 bits: an overflow would show as an error. The exact
polynomial is evaluated in double precision, which is off by less than 2**-19 of the curve's unit: that is added.
"""

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from shared_calc.curve import SPAN, Curve, quantise, span_of

BLOCK = 1 << 13  # so many counts stay in the processor's cache
DOUBLE_PRECISION_UNITS = 2.0**-19  # 10 roundings of at most 2**-53 each, of values below 2**30 units


class Case(NamedTuple):
    """A load cell between two raw counts: load 0 at `zero_counts`, Max at `max_counts`, bowed by shares of Max."""

    name: str
    zero_counts: int
    max_counts: int
    max_divisions: int
    quadratic: Fraction = Fraction(0)
    cubic: Fraction = Fraction(0)

    @property
    def degree(self) -> int:
        return 3 if self.cubic else 2 if self.quadratic else 1

    def exact(self) -> list[Fraction]:
        """Return the load in divisions as a polynomial in counts - centre, lowest power first."""
        centre, _ = self.span()
        u = [Fraction(centre - self.zero_counts), Fraction(1)]
        u = [value / (self.max_counts - self.zero_counts) for value in u]
        # u(1-u) is at most 1/4, u(1-u)(1-2u) at most 1/10.4: so `quadratic` and `cubic` are the largest departures.
        q, c = 4 * self.quadratic, self.cubic * Fraction(104, 10)
        load = [Fraction(0), 1 + q + c, -q - 3 * c, 2 * c]
        total = [Fraction(0)]
        for c in reversed(load[: self.degree + 1]):  # Horner's rule, of polynomials
            total = _product(total, u)
            total[0] += c
        return [self.max_divisions * value for value in total[: self.degree + 1]]

    def span(self) -> tuple[int, int]:
        return span_of(*sorted((self.zero_counts, self.max_counts)))

    def curve(self) -> Curve:
        exact = self.exact()
        denominator = int(np.lcm.reduce([value.denominator for value in exact], dtype=object))
        return quantise([int(value * denominator) for value in exact], denominator, *self.span())


class Worst(NamedTuple):
    """The largest error found, in ADC counts, and where."""

    error_counts: float
    at_counts: int
    evaluated: int

    @property
    def parts(self) -> float:
        """N where the error is 1/N count."""
        return 1 / self.error_counts


def _product(a: list[Fraction], b: list[Fraction]) -> list[Fraction]:
    result = [Fraction(0)] * (len(a) + len(b) - 1)
    for i, p in enumerate(a):
        for j, q in enumerate(b):
            result[i + j] += p * q
    return result


PER_CENT = Fraction(1, 100)
CASES = [
    Case("straight, all 2^24 counts", -SPAN, SPAN - 1, 6000),
    Case("quadratic 2 %, all 2^24 counts", -SPAN, SPAN - 1, 6000, 2 * PER_CENT),
    Case("cubic 0.5 % + 0.3 %, all 2^24 counts", -SPAN, SPAN - 1, 8000, PER_CENT / 2, PER_CENT * 3 / 10),
    Case("straight, upper half", 0, SPAN - 1, 3000),
    Case("quadratic 2 %, upper half", 0, SPAN - 1, 3000, 2 * PER_CENT),
    Case("cubic 2 % + 1 %, upper half", 0, SPAN - 1, 3000, 2 * PER_CENT, PER_CENT),
    Case("straight, falling, lower half", -1, -SPAN, 3000),
    Case("cubic 1 % + 1 %, falling, part", 1_900_000, -6_400_000, 10_000, PER_CENT, -PER_CENT),
    Case("quadratic -5 %, part", 180_000, 5_300_000, 2000, -5 * PER_CENT),
    Case("cubic 5 % + 3 %, narrow part", 1_040_000, 1_560_000, 5000, 5 * PER_CENT, 3 * PER_CENT),
    Case("cubic 1 % + 1 %, fine division", -40_000, 4_000_000, 200_000, PER_CENT, PER_CENT),
]


def worst_error(case: Case) -> Worst:
    """Evaluate every count the curve covers and return the worst error."""
    curve = case.curve()
    units_per_division = 1 << curve.binary_exponent
    exact = [float(c * units_per_division * curve.half**k) for k, c in enumerate(case.exact())]  # a polynomial in t
    slopes = [k * c for k, c in enumerate(exact)][1:]
    worst = Worst(0.0, 0, 0)
    for counts in _blocks(curve):
        t = (counts - curve.centre) / curve.half
        error_units = np.abs(curve.evaluate(counts) - horner(exact, t)) + DOUBLE_PRECISION_UNITS
        error = error_units * curve.half / np.abs(horner(slopes, t))
        place = int(error.argmax())
        found = Worst(float(error[place]), int(counts[place]), 0)
        worst = max(worst, found)._replace(evaluated=worst.evaluated + len(counts))
    return worst


def horner(coefficients: list[float], t: np.ndarray) -> np.ndarray:
    value = np.full(len(t), coefficients[-1])
    for c in coefficients[-2::-1]:
        value *= t
        value += c
    return value


def _blocks(curve: Curve) -> Iterator[np.ndarray]:
    low, high = max(curve.centre - curve.half, -SPAN), min(curve.centre + curve.half, SPAN - 1)
    for start in range(low, high + 1, BLOCK):
        yield np.arange(start, min(start + BLOCK, high + 1), dtype=np.int32)
