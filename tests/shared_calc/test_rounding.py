"""Rounding to the division and its decimal text, against decimal.Decimal."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import floor

from hypothesis import given
from hypothesis import strategies as st

from shared_calc.curve import LIMIT
from shared_calc.rounding import format_divisions, round_to_division
from tests.shared_calc.small_int import SmallInt

FINE_MAX = LIMIT + 2  # an evaluation is within the sum of its coefficients and its roundings

fine_values = st.one_of(st.integers(-FINE_MAX, FINE_MAX), st.sampled_from([-FINE_MAX, FINE_MAX, -1, 0]))
mantissas = st.sampled_from([1, 2, 5])


@given(fine_values, st.integers(1, 29))
def test_rounding_is_to_the_nearest_division_halves_up_within_small_integers(fine, exponent) -> None:
    expected = floor(Fraction(fine, 1 << exponent) + Fraction(1, 2))
    assert round_to_division(SmallInt(fine), SmallInt(exponent)) == expected


@given(st.integers(-(2**28), 2**28), st.integers(1, 29))
def test_a_half_division_goes_up_and_less_goes_down(divisions, exponent) -> None:
    half = (divisions << exponent) + (1 << exponent - 1)
    assert round_to_division(half, exponent) == divisions + 1
    assert round_to_division(half - 1, exponent) == divisions


@given(st.integers(-(2**30), 2**30), mantissas, st.integers(-9, 9))
def test_the_text_is_the_exact_decimal_with_the_places_of_the_division(divisions, mantissa, power_of_ten) -> None:
    text = format_divisions(divisions, mantissa, power_of_ten)
    exact = Decimal(divisions) * mantissa * Decimal(10) ** power_of_ten
    assert Decimal(text) == exact
    assert text == f"{exact:.{max(-power_of_ten, 0)}f}".replace("-0", "-0" if divisions else "0")


@given(fine_values, st.integers(1, 29), mantissas, st.integers(-9, 9))
def test_an_indication_is_the_value_rounded_once(fine, exponent, mantissa, power_of_ten) -> None:
    division = Decimal(mantissa).scaleb(power_of_ten)
    exact = Decimal(fine) / (1 << exponent)  # in divisions; 28 digits hold every quotient but the deepest
    shown = Decimal(format_divisions(round_to_division(fine, exponent), mantissa, power_of_ten))
    assert abs(shown / division - exact) <= Decimal("0.5")
    if exact >= 0:
        assert shown / division == exact.quantize(Decimal(1), ROUND_HALF_UP)
