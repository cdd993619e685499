"""Units against the laws and agreements that define them, exactly."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.errors import InputError
from scalewright.units import UNITS, find_unit
from tests.host.reference_tables import rows

TABLE = {row["unit"]: row for row in rows("units.csv")}


@pytest.mark.parametrize("row", TABLE.values(), ids=TABLE)
def test_every_unit_is_what_its_definition_says(row):
    unit = find_unit(row["unit"])
    assert unit.symbol == row["symbol"]
    printed = Decimal(row["grams"])
    if row["exact"] == "yes":
        assert unit.grams == Fraction(printed)
    else:  # rounded: to the digits printed
        places = -printed.as_tuple().exponent
        assert round(unit.grams, places) == Fraction(printed)


def test_no_unit_is_without_a_published_value():
    assert {unit.name for unit in UNITS} - {"gram"} == set(TABLE)


# Ratios: Hong Kong Cap. 68, schedule 1; international yard and pound agreement 1959.
@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("lb", "gr", 7000),
        ("lb", "oz", 16),
        ("oz t", "gr", 480),
        ("oz t", "dwt", 20),
        ("cwt", "lb", 112),
        ("ton UK", "cwt", 20),
        ("tam", "kan", 100),
        ("leung", "fan", 100),
    ],
)
def test_ratios_between_units_are_exact(one, other, ratio):
    assert find_unit(one).grams == ratio * find_unit(other).grams


def test_175_troy_ounces_are_12_pounds():
    assert 175 * find_unit("oz t").grams == 12 * find_unit("lb").grams


@given(st.sampled_from(UNITS), st.fractions(min_value=-(10**6), max_value=10**6))
def test_there_and_back_is_the_same_mass(unit, value):
    assert unit.from_grams(unit.to_grams(value)) == value


def test_a_symbol_of_two_places_asks_which():
    with pytest.raises(InputError, match=r"'kati' differs from place to place; .*Malaysia.*Singapore"):
        find_unit("kati")


def test_an_unknown_unit_gets_the_choice():
    with pytest.raises(InputError, match="'ell' is not known; expected one of kg, t, ct"):
        find_unit("ell")


@pytest.mark.parametrize("place", ["Hong Kong", "Malaysia", "Singapore", "Taiwan", "Thailand", "Japan", "Korea"])
def test_trade_units_carry_their_place(place):
    assert any(unit.jurisdiction == place for unit in UNITS)
