"""The same answers by another way: fractions, division and pivoting, none of which shared_calc uses."""

from collections.abc import Sequence
from fractions import Fraction


def solve_by_gauss_jordan(rows: Sequence[Sequence[int | Fraction]]) -> list[Fraction]:
    """Return the solution of n equations given as n rows of n + 1 numbers."""
    rows = [[Fraction(value) for value in row] for row in rows]
    for k in range(len(rows)):
        pivot = max(range(k, len(rows)), key=lambda i: abs(rows[i][k]))
        rows[k], rows[pivot] = rows[pivot], rows[k]
        rows[k] = [value / rows[k][k] for value in rows[k]]
        for i in range(len(rows)):
            if i != k:
                rows[i] = [value - rows[i][k] * upper for value, upper in zip(rows[i], rows[k], strict=True)]
    return [row[-1] for row in rows]


def least_squares(regressors: Sequence[Sequence[int]], y: Sequence[int], weights: Sequence[int]) -> list[Fraction]:
    """Return the coefficients of the weighted least-squares fit, from the normal equations."""
    columns = list(zip(*regressors, strict=True))

    def product(a: Sequence[int], b: Sequence[int]) -> int:
        return sum(w * p * q for w, p, q in zip(weights, a, b, strict=True))

    return solve_by_gauss_jordan([[product(a, b) for b in columns] + [product(a, y)] for a in columns])


def value_of(coefficients: Sequence[Fraction], x: Fraction | int) -> Fraction:
    """Return the polynomial's value; coefficients lowest power first."""
    return sum((c * x**k for k, c in enumerate(coefficients)), Fraction(0))


def slope_of(coefficients: Sequence[Fraction], x: Fraction | int) -> Fraction:
    """Return the polynomial's derivative; coefficients lowest power first."""
    return value_of([k * c for k, c in enumerate(coefficients)][1:], x)
