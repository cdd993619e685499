"""Evaluation in small integers against big ones, and quantisation against exact fractions."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc import curve as curve_module
from shared_calc.curve import LIMIT, SPAN, Curve, CurveError, check, multiply, quantise, span_of
from tests.shared_calc.rationals import slope_of, value_of
from tests.shared_calc.small_int import SmallInt
from tests.shared_calc.strategies import coefficients, curves, curves_and_counts, positions


def evaluate_with_big_integers(coefficients, x: int) -> int:
    y = 0
    for c in coefficients:
        y = ((y * x + (1 << 22)) >> 23) + c
    return y


def exact_value(curve: Curve, counts: int) -> Fraction:
    t = Fraction((counts - curve.centre) << curve.shift, SPAN)
    return value_of(curve.coefficients[::-1], t)


@given(coefficients, positions)
@pytest.mark.parametrize("corner", [lambda a, x: (a, x), lambda a, x: (LIMIT - 1 if a > 0 else 1 - LIMIT, x)])
def test_a_product_is_exact_and_stays_within_small_integers(corner, a, x) -> None:
    a, x = corner(a, x)
    for place in (x, SPAN, -SPAN):
        assert multiply(SmallInt(a), SmallInt(place)) == (a * place + (1 << 22)) >> 23


@given(curves_and_counts())
def test_an_evaluation_equals_big_integers_and_stays_within_small_ones(curve_and_counts) -> None:
    curve, counts = curve_and_counts
    expected = evaluate_with_big_integers(curve.coefficients, (counts - curve.centre) << curve.shift)
    small = Curve(
        *map(SmallInt, (curve.centre, curve.shift, curve.binary_exponent)), tuple(map(SmallInt, curve.coefficients))
    )
    assert small.covers(SmallInt(counts))
    assert small.evaluate(SmallInt(counts)) == expected


@given(st.lists(coefficients, min_size=2, max_size=4), positions)
def test_the_sum_of_coefficients_alone_keeps_every_step_small(raw, x) -> None:
    """Also where a curve bends more than any that may be used."""
    scale = Fraction(LIMIT - 1, max(sum(map(abs, raw)), LIMIT - 1))
    scaled = [int(c * scale) for c in raw]
    assert curve_module.evaluate(list(map(SmallInt, scaled)), SmallInt(x)) == evaluate_with_big_integers(scaled, x)


@given(curves(), st.data())
def test_a_numpy_array_is_evaluated_to_the_same_integers_and_left_as_it_was(curve, data) -> None:
    offsets = data.draw(st.lists(st.integers(-curve.half, curve.half), max_size=50))
    counts = np.array(offsets, np.int64) + curve.centre
    before = counts.copy()
    assert curve.evaluate(counts).tolist() == [curve.evaluate(int(value)) for value in counts]
    assert (counts == before).all()


@given(st.integers(-0x800000, 0x7FFFFF), st.integers(-0x800000, 0x7FFFFF))
def test_a_span_covers_the_counts_as_wide_as_they_fit(a, b) -> None:
    low, high = sorted((a, b))
    centre, shift = span_of(low, high)
    curve = Curve(centre, shift, 1, (1, 0))
    assert curve.covers(low) and curve.covers(high)
    half = max(high - centre, centre - low, 1)
    assert half << shift <= SPAN < half << shift + 1


@given(curves_and_counts())
def test_an_evaluation_is_as_near_to_the_curve_as_is_promised(curve_and_counts) -> None:
    curve, counts = curve_and_counts
    check(curve)
    t = Fraction((counts - curve.centre) << curve.shift, SPAN)
    slope_per_count = abs(slope_of(curve.coefficients[::-1], t)) * (1 << curve.shift) / SPAN
    degree = len(curve.coefficients) - 1
    error = abs(curve.evaluate(counts) - exact_value(curve, counts))
    assert error <= Fraction(degree, 2)
    assert (error + Fraction(degree + 1, 2)) * curve.guaranteed_parts() <= slope_per_count


@given(curves(), st.integers(1, 10**12), st.data())
def test_quantising_rounds_each_coefficient_once_in_the_finest_unit_that_fits(curve, denominator, data) -> None:
    degree = len(curve.coefficients) - 1
    exact = []  # in units of the curve, lowest power first: a little nearer to 0 than its coefficients
    for c in curve.coefficients[::-1]:
        part = Fraction(data.draw(st.integers(0, denominator - 1)), denominator)
        exact.append(c - part if c > 0 else c + part if c < 0 else Fraction(0))
    bits = 23 - curve.shift
    common = denominator << curve.binary_exponent + bits * degree
    per_count = [value / (1 << curve.binary_exponent + bits * k) for k, value in enumerate(exact)]
    numerators = [int(value * common) for value in per_count]
    assert [Fraction(numerator, common) for numerator in numerators] == per_count

    result = quantise(numerators, common, curve.centre, curve.shift)
    assert (result.centre, result.shift, result.binary_exponent) == (curve.centre, curve.shift, curve.binary_exponent)
    assert sum(map(abs, result.coefficients)) < LIMIT <= 2 * sum(map(abs, exact)) + 2 * degree + 2
    for rounded, value in zip(result.coefficients[::-1], exact, strict=True):
        assert abs(rounded - value) <= Fraction(1, 2)


@given(curves())
def test_the_flattest_slope_is_found_wherever_it_is(curve) -> None:
    """guaranteed_parts against the derivative at both ends and at its own turning point."""
    places = [Fraction(-1), Fraction(1)]
    if len(curve.coefficients) == 4 and curve.coefficients[0]:
        c3, c2, _, _ = curve.coefficients
        places.append(max(min(Fraction(-c2, 3 * c3), Fraction(1)), Fraction(-1)))
    flattest = min(abs(slope_of(curve.coefficients[::-1], t)) for t in places)
    exact = 2 * flattest * (1 << curve.shift) / ((2 * len(curve.coefficients) - 1) * SPAN)
    assert exact - 1 - Fraction(2 << curve.shift, SPAN) < curve.guaranteed_parts() <= exact


@pytest.mark.parametrize(
    ("coefficients", "reason"),
    [
        ((1 << 29, 1 << 28, 0), "flat or turns back"),  # its slope changes sign at t = -1/4
        ((1 << 28, 0, 0, 0), "flat or turns back"),  # flat in the middle
        ((-(1 << 28), 0, 1 << 29, 0), "flat or turns back"),  # a cubic that turns at both ends
        ((0, 1 << 29), "flat or turns back"),
        ((1 << 26, 0), "sure only to 1/5 count, 1/16 is needed"),
        ((1 << 29, 1 << 29), "coefficients too large"),
    ],
)
def test_a_curve_that_cannot_be_trusted_is_refused(coefficients, reason) -> None:
    with pytest.raises(CurveError, match=reason):
        check(Curve(0, 0, 10, coefficients))


@pytest.mark.parametrize(("centre", "shift", "exponent"), [(SPAN + 1, 0, 10), (0, 24, 10), (0, 0, 0), (0, 0, 30)])
def test_a_curve_out_of_the_range_of_its_fields_is_refused(centre, shift, exponent) -> None:
    with pytest.raises(CurveError, match="out of range"):
        check(Curve(centre, shift, exponent, (1 << 29, 0)))


@pytest.mark.parametrize("coefficients", [(), (1,), (1, 2, 3, 4, 5)])
def test_a_curve_of_another_degree_is_refused(coefficients) -> None:
    with pytest.raises(CurveError, match="degree 1 to 3"):
        Curve(0, 0, 10, coefficients)


def test_a_division_too_fine_for_the_range_is_refused_with_a_remedy() -> None:
    with pytest.raises(CurveError, match="choose a larger d or a smaller Max"):
        quantise([0, 1 << 8], 1, 0, 0)  # 2**31 divisions over the range


@given(curves_and_counts())
def test_a_curve_covers_its_half_range_on_either_side_and_no_more(curve_and_counts) -> None:
    curve, counts = curve_and_counts
    assert curve.covers(counts)
    assert not curve.covers(curve.centre + curve.half + 1)
    assert not curve.covers(curve.centre - curve.half - 1)
