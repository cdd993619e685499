"""The exact fit: every certified digit of NIST StRD, and the same fractions as an independent rational solve."""

import csv
import json
from decimal import Decimal, localcontext
from fractions import Fraction
from math import inf, lcm
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shared_calc.fit import FitError, fit_linear, fit_polynomial, gram_matrix, invert
from tests.shared_calc.rationals import least_squares, value_of

# NIST/ITL Statistical Reference Datasets, linear least squares regression: data and certified values.
STRD = Path(__file__).parents[1] / "reference_data" / "nist_strd"
SETS = ["norris", "pontius", "noint1", "longley", "wampler1", "wampler2", "wampler3", "wampler5"]
EXACT_SETS = {
    "wampler1": [Fraction(1)] * 6,
    "wampler2": [Fraction(1, 10**k) for k in range(6)],
}


class StrdFit:
    """A data set fitted by shared_calc from its decimals, scaled to integers; everything after that is exact too."""

    def __init__(self, name: str) -> None:
        self.certified = json.loads((STRD / f"{name}.json").read_text())
        with (STRD / f"{name}.csv").open() as file:
            table = [{key: Fraction(text) for key, text in row.items()} for row in csv.DictReader(file)]
        y = [row.pop("y") for row in table]
        regressors = [self._regressors(list(row.values())) for row in table]
        scales = [lcm(*(value.denominator for value in column)) for column in zip(*regressors, strict=True)]
        y_scale = lcm(*(value.denominator for value in y))
        rows = [[int(value * scale) for value, scale in zip(row, scales, strict=True)] for row in regressors]
        weights = [1] * len(y)
        numerators, denominator = fit_linear(rows, [int(value * y_scale) for value in y], weights)
        inverse, determinant = invert(gram_matrix(rows, weights))

        self.estimates = [Fraction(n * s, denominator * y_scale) for n, s in zip(numerators, scales, strict=True)]
        fitted = [sum(c * value for c, value in zip(self.estimates, row, strict=True)) for row in regressors]
        self.residual_sum = sum((value - f) ** 2 for value, f in zip(y, fitted, strict=True))
        self.residual_variance = self.residual_sum / self.certified["dof"]
        self.variances = [
            self.residual_variance * inverse[k][k] * scale**2 / determinant for k, scale in enumerate(scales)
        ]
        mean = sum(y) / len(y) if self.certified["intercept"] else 0
        self.r_squared = 1 - self.residual_sum / sum((value - mean) ** 2 for value in y)

    def _regressors(self, x: list[Fraction]) -> list[Fraction]:
        if self.certified["model"] == "multiple-linear":
            return [Fraction(1), *x]
        return [x[0] ** k for k in range(0 if self.certified["intercept"] else 1, self.certified["degree"] + 1)]

    def figures(self) -> list[tuple[Decimal, str]]:
        """Return (ours to 40 digits, the certified text) for every certified figure of the table."""
        certified = self.certified
        return [
            *((decimal_of(c), text) for c, text in zip(self.estimates, certified["estimates"], strict=True)),
            *((decimal_root(v), text) for v, text in zip(self.variances, certified["std_errors"], strict=True)),
            (decimal_root(self.residual_variance), certified["residual_sd"]),
            (decimal_of(self.r_squared), certified["r_squared"]),
            (decimal_of(self.residual_sum), certified["ss_residual"]),
        ]


def decimal_of(value: Fraction) -> Decimal:
    with localcontext(prec=40):
        return Decimal(value.numerator) / value.denominator


def decimal_root(value: Fraction) -> Decimal:
    with localcontext(prec=40):
        return (Decimal(value.numerator) / value.denominator).sqrt()


def log_relative_error(ours: Decimal, certified: str) -> float:
    """Return how many digits agree: -log10 of the relative error, infinite where there is none."""
    with localcontext(prec=40):
        error = abs(ours - Decimal(certified))
        return float(-(error / abs(Decimal(certified))).log10()) if error else inf


@pytest.mark.parametrize("name", SETS)
def test_every_certified_digit_of_nist_strd_comes_back(name: str) -> None:
    for ours, certified in StrdFit(name).figures():
        assert log_relative_error(ours, certified) >= 14
        assert ours.quantize(Decimal(certified)) == Decimal(certified)


@pytest.mark.parametrize("name", EXACT_SETS)
def test_an_exact_nist_answer_is_returned_exactly(name: str) -> None:
    fit = StrdFit(name)
    assert fit.estimates == EXACT_SETS[name]
    assert fit.residual_sum == 0
    assert fit.variances == [0] * 6


counts = st.integers(-0x800000, 0x7FFFFF)
masses_ug = st.integers(-(10**10), 10**10)


@st.composite
def calibrations(draw: st.DrawFn, max_degree: int = 5) -> tuple[list[int], list[int], list[int], int]:
    """x, y, weights and a degree that they determine; x may repeat, as up and down do."""
    degree = draw(st.integers(0, max_degree))
    x = draw(st.lists(counts, min_size=degree + 1, max_size=21))
    assume(len(set(x)) > degree)
    y = draw(st.lists(masses_ug, min_size=len(x), max_size=len(x)))
    weights = draw(st.lists(st.integers(1, 255), min_size=len(x), max_size=len(x)))
    return x, y, weights, degree


def fractions(fitted: tuple[list[int], int]) -> list[Fraction]:
    numerators, denominator = fitted
    assert denominator > 0
    return [Fraction(numerator, denominator) for numerator in numerators]


@given(calibrations())
def test_a_fit_equals_the_rational_solution(calibration) -> None:
    x, y, weights, degree = calibration
    powers = [[value**k for k in range(degree + 1)] for value in x]
    expected = least_squares(powers, y, weights)
    assert fractions(fit_polynomial(x, y, weights, degree)) == expected
    assert fractions(fit_linear(powers, y, weights)) == expected


@given(calibrations(), st.data())
def test_points_on_a_polynomial_return_its_coefficients(calibration, data) -> None:
    x, _, weights, degree = calibration
    coefficients = data.draw(st.lists(masses_ug, min_size=degree + 1, max_size=degree + 1))
    y = [int(value_of(coefficients, value)) for value in x]
    assert fractions(fit_polynomial(x, y, weights, degree)) == coefficients


@given(calibrations(), st.data())
def test_a_weight_is_worth_as_many_equal_points(calibration, data) -> None:
    x, y, _, degree = calibration
    weights = data.draw(st.lists(st.integers(1, 4), min_size=len(x), max_size=len(x)))
    repeated = [i for i, weight in enumerate(weights) for _ in range(weight)]
    one_by_one = fit_polynomial([x[i] for i in repeated], [y[i] for i in repeated], [1] * len(repeated), degree)
    assert fit_polynomial(x, y, weights, degree) == one_by_one


@given(calibrations())
def test_the_inverse_times_the_matrix_is_the_unit_matrix(calibration) -> None:
    x, _, weights, degree = calibration
    matrix = gram_matrix([[value**k for k in range(degree + 1)] for value in x], weights)
    inverse, denominator = invert(matrix)
    for i, row in enumerate(inverse):
        for j, column in enumerate(zip(*matrix, strict=True)):
            assert sum(a * b for a, b in zip(row, column, strict=True)) == (denominator if i == j else 0)


@given(calibrations(max_degree=3), st.integers(1, 3))
def test_too_few_different_loads_are_refused(calibration, missing) -> None:
    x, y, weights, _ = calibration
    with pytest.raises(FitError, match="too few different loads"):
        fit_polynomial(x, y, weights, len(set(x)) - 1 + missing)


@given(st.lists(st.tuples(counts, counts), min_size=1, max_size=8))
def test_regressors_that_depend_on_one_another_are_refused(pairs) -> None:
    rows = [[a, b, 3 * a - 2 * b] for a, b in pairs]
    with pytest.raises(FitError):
        fit_linear(rows, [1] * len(rows), [1] * len(rows))
