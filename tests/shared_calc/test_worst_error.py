"""Over all inputs of realistic curves no evaluation is further from the exact curve than the curve promises."""

from fractions import Fraction

import pytest

from shared_calc.curve import PARTS_OF_A_COUNT
from tests.shared_calc.rationals import slope_of, value_of
from tests.shared_calc.worst_error import CASES, DOUBLE_PRECISION_UNITS, Case, worst_error


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_no_evaluation_is_further_off_than_promised(case: Case) -> None:
    curve, exact = case.curve(), case.exact()
    worst = worst_error(case)
    assert worst.evaluated >= min(2 * curve.half, 1 << 24)
    assert PARTS_OF_A_COUNT <= curve.guaranteed_parts() <= worst.parts

    # The same place in exact fractions, and by the device's own call on a plain int.
    x = worst.at_counts - curve.centre
    units = 1 << curve.binary_exponent
    error_units = abs(curve.evaluate(worst.at_counts) - units * value_of(exact, x))
    reported_units = worst.error_counts * abs(units * slope_of(exact, x))
    assert error_units <= Fraction(2 * case.degree + 1, 2)
    assert 0 <= reported_units - error_units <= 2 * DOUBLE_PRECISION_UNITS
