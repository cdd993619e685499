"""Worked by hand from the definitions: 1 lb = 453.59237 g (1959), 1 tola = 180 grains of 64.79891 mg."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.shown import in_pieces, in_unit, is_of_the_device
from scalewright.units import find_unit
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.curve import Curve

RECORD = CoefficientRecord(Curve(0, 0, 6, (1 << 20, 0)), 1, 0, 3000)  # d = 1 g, Max 3 kg


@pytest.mark.parametrize(
    "indication_g, name, expected",
    [
        ("500", "tola", "42.9"),  # 500 / 11.6638038 = 42.868; d is 0.0857 tola, so 0.1
        ("0", "tola", "0.0"),
        ("-500", "tola", "-42.9"),
        ("3000", "catty (Hong Kong)", "4.960"),  # 3000 / 604.78982 = 4.96040; d is 0.00165, so 0.002
    ],
)
def test_an_indication_is_shown_in_other_units_to_a_division_not_finer_than_d(
    indication_g: str, name: str, expected: str
) -> None:
    assert in_unit(Decimal(indication_g), find_unit(name), RECORD) == expected


def test_units_that_the_device_knows_are_its_own_to_show() -> None:
    assert is_of_the_device(find_unit("lb"))
    assert not is_of_the_device(find_unit("g"))
    assert not is_of_the_device(find_unit("tola"))


@given(st.decimals(0, 10_000, places=1), st.decimals("0.5", 100, places=2))
def test_the_pieces_that_are_counted_come_nearest(indication_g: Decimal, piece_g: Decimal) -> None:
    pieces, left_g = in_pieces(indication_g, piece_g)
    assert pieces * piece_g + left_g == indication_g
    assert abs(left_g) <= piece_g / 2


def test_bronze_pence_are_counted_by_their_nominal_mass() -> None:
    # 22 pence of 3.56 g are 78.3 g (common practice: "about 80 g", which counts as 22 with 1.7 g left over).
    assert in_pieces(Decimal("78.3"), Decimal("3.56")) == (22, Decimal("-0.02"))
    assert in_pieces(Decimal("80"), Decimal("3.56")) == (22, Decimal("1.68"))
