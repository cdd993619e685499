"""Rounding for print, against JCGM 100:2008 (GUM), 7.2.6 and 7.2.2, and NIST GLP 9, and as properties."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.certificates.rounding import printed, rounded, rounded_u, to_place
from scalewright.errors import InputError

UNCERTAINTIES = st.decimals("1e-9", "1e9", places=12).filter(bool) | st.floats(1e-12, 1e12)
VALUES = st.decimals(-(10**9), 10**9, places=9) | st.fractions() | st.floats(-1e12, 1e12)


@pytest.mark.parametrize(
    ("exact", "expected"),
    [
        ("10.47", "11"),  # JCGM 100:2008, 7.2.6: 10.47 mOhm might be rounded up to 11 mOhm
        ("28.05", "28"),  # 7.2.6: common sense should prevail, 28.05 kHz becomes 28 kHz
        ("0.35", "0.35"),  # 7.2.2: uc = 0.35 mg
        ("0.79", "0.79"),  # 7.2.4: U = 0.79 mg
        ("0.0996", "0.10"),  # 99.6 has become 100: two digits still
        ("99.4", "99"),
        ("99.6", "100"),
        ("0.0010102", "0.0011"),  # 1.0 would be 1 % and a little more too small
        ("1.01", "1.0"),  # exactly 1 % is not more than 1 %
        ("1.15", "1.2"),  # the middle: up
        ("58.5", "59"),  # EA-4/02 M:2022, S2: U = 58.5 mg of a 10 kg weight is reported as 59 mg
    ],
)
def test_uncertainties_of_published_examples_and_of_the_limits_round_as_stated(exact: str, expected: str) -> None:
    found = rounded_u(Decimal(exact))
    assert found == Decimal(expected)
    assert len(found.as_tuple().digits) == 2 or found == 100


def test_a_value_takes_the_place_of_its_uncertainty() -> None:
    # JCGM 100:2008, 7.2.6: y = 10.057 62 Ohm with uc = 27 mOhm becomes 10.058 Ohm.
    assert str(rounded(Decimal("10.05762"), Decimal("0.027")).value) == "10.058"
    # JCGM 100:2008, 7.2.2 and 7.2.4: ms = 100.021 47 g, uc = 0.35 mg, U = 0.79 mg.
    assert str(rounded(Decimal("100.0214712"), Decimal("0.00079")).value) == "100.02147"


@pytest.mark.parametrize(
    ("value", "expected"), [("0.125", "0.12"), ("0.135", "0.14"), ("-0.125", "-0.12"), ("-0.004", "0.00")]
)
def test_halves_become_even_and_no_zero_is_negative(value: str, expected: str) -> None:
    assert str(to_place(Decimal(value), Decimal("0.25"))) == expected


@given(UNCERTAINTIES)
def test_an_uncertainty_keeps_two_digits_and_never_loses_more_than_a_hundredth(exact: Decimal | float) -> None:
    found = rounded_u(exact)
    digits = found.as_tuple().digits
    assert len(digits) == 2
    assert digits[0] != 0
    change = (Fraction(found) - Fraction(exact)) / Fraction(exact)
    assert Fraction(-1, 100) <= change <= Fraction(1, 10)


@given(UNCERTAINTIES)
def test_a_rounded_uncertainty_stays_as_it_is(exact: Decimal | float) -> None:
    once = rounded_u(exact)
    assert str(rounded_u(once)) == str(once)


@settings(max_examples=60)
@given(VALUES, UNCERTAINTIES)
def test_value_and_uncertainty_end_at_the_same_place_and_the_value_is_within_half_of_it(
    value: Decimal | Fraction | float, exact_u: Decimal | float
) -> None:
    found = rounded(value, exact_u)
    assert found.value.as_tuple().exponent == found.expanded_u.as_tuple().exponent
    assert 2 * abs(Fraction(found.value) - Fraction(value)) <= Fraction(10) ** int(found.value.as_tuple().exponent)


@settings(max_examples=60)
@given(VALUES, UNCERTAINTIES)
def test_what_is_printed_reads_back_as_the_same_number(value: Decimal | Fraction | float, u: Decimal | float) -> None:
    found = rounded(value, u).value
    text = printed(found, signed=True)
    assert "E" not in text
    assert Decimal(text.replace("\N{MINUS SIGN}", "-")) == found
    assert text[0] == {True: "+", False: "\N{MINUS SIGN}"}[found > 0] or found == 0


@pytest.mark.parametrize("u", [0, -1, float("nan"), float("inf"), Decimal("NaN")])
def test_what_is_no_uncertainty_is_refused(u: float) -> None:
    with pytest.raises(InputError, match="expected a number above 0"):
        rounded_u(u)
