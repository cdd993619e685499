"""Counting digits that agree."""

from fractions import Fraction

import pytest

from scalewright.analysis.agreement import agreeing_digits


@pytest.mark.parametrize(
    ("value", "certified", "digits"),
    [
        (2.0, "2.00000", 6),  # all of them
        (Fraction(2, 3), "0.667", 3),  # all: it rounds to the certified text
        (101.0, "100.000", 2),  # relative error 10**-2
        (0.99, "1.00", 2),
        (-1.0, "1.00", 0),  # wrong by more than itself
        (0.0, "0.00000", 5),  # a certified zero: its decimal places
        (0.001, "0.00000", 3),
        (6.5e-4, "0.650E-03", 3),
    ],
)
def test_digits_are_the_logarithm_of_the_relative_error(value, certified, digits):
    assert agreeing_digits(value, certified) == pytest.approx(digits)
