"""Other units, exactly: against the host's table of units, whose definitions name their sources, and its fractions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.units import find_unit
from shared_calc.display_unit import UNITS, unit_of_mass, unit_of_pieces
from shared_calc.rounding import FURTHEST, format_divisions, round_to_division
from tests.shared_calc.strategies import records

fines = st.integers(-FURTHEST, FURTHEST)
DIVISIONS = [Fraction(10) ** k * m for k in range(-30, 31) for m in (1, 2, 5)]


@pytest.mark.parametrize("symbol", UNITS)
def test_a_unit_is_as_many_grams_as_on_the_host(symbol) -> None:
    assert Fraction(*UNITS[symbol]) == find_unit(symbol).grams


@given(records(), fines, st.sampled_from(sorted(UNITS)))
def test_the_value_is_the_exact_one_rounded_to_the_nearest_division_that_is_not_finer(record, fine, symbol) -> None:
    unit = unit_of_mass(symbol, record)
    d_g = record.mantissa * Fraction(10) ** record.power_of_ten
    division = unit.mantissa * Fraction(10) ** unit.power_of_ten
    assert division == min(one for one in DIVISIONS if one >= find_unit(symbol).from_grams(d_g))
    exact = find_unit(symbol).from_grams(fine * d_g / 2**record.curve.binary_exponent)
    assert unit.divisions(fine) == (exact / division + Fraction(1, 2)).__floor__()
    if symbol == "g":
        assert unit.divisions(fine) == round_to_division(fine, record.curve.binary_exponent)


@given(st.integers(1, FURTHEST), st.integers(1, 1000), st.integers(0, 5000))
def test_so_many_times_the_piece_are_so_many_pieces(sample, number, pieces) -> None:
    unit = unit_of_pieces(sample, number)
    assert unit.divisions(sample) == number
    nearly = sample * pieces // number  # within one unit of the curve
    assert abs(unit.divisions(nearly) - pieces) <= number // sample + 1
    assert format_divisions(number, unit.mantissa, unit.power_of_ten) == str(number)
