"""Units of print: exact steps of ten (SI Brochure, 9th edition, table 7), chosen so that digits stay few."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.certificates.document import ScaleFacts
from scalewright.certificates.print_units import PrintUnits
from scalewright.certificates.si_units import OF_SYMBOL


def units(max_g: str, division_g: str) -> PrintUnits:
    return PrintUnits.of(ScaleFacts("", "", Decimal(max_g), Decimal(division_g)))


@pytest.mark.parametrize(
    ("max_g", "division_g", "symbols"),
    [
        ("3000", "1", ("g", "g")),
        ("200", "0.001", ("g", "mg")),
        ("200", "0.01", ("g", "g")),
        ("150000", "50", ("kg", "g")),
        ("10000", "0.1", ("kg", "g")),
        ("9999", "0.1", ("g", "g")),
    ],
)
def test_heavy_loads_are_in_kilograms_and_small_errors_in_milligrams(
    max_g: str, division_g: str, symbols: tuple[str, str]
) -> None:
    found = units(max_g, division_g)
    assert (found.load_symbol, found.error_symbol) == symbols
    assert set(symbols) <= OF_SYMBOL.keys()


@given(st.decimals(-(10**6), 10**6, places=6), st.sampled_from([("3000", "1"), ("200", "0.001"), ("150000", "50")]))
def test_nothing_is_lost_on_the_way_there_and_back(value_g: Decimal, scale: tuple[str, str]) -> None:
    found = units(*scale)
    assert found.load_in_g(found.load(value_g)) == value_g
    in_unit = found.error(value_g)
    assert found.error_in_g(Decimal(in_unit.numerator) / in_unit.denominator) == value_g


def test_an_indication_takes_the_place_of_an_uncertainty_in_another_unit() -> None:
    assert str(units("150000", "50").indication(Fraction(99_976), Decimal("72"))) == "99.976"
    assert str(units("200", "0.001").indication(Fraction("50.00052"), Decimal("0.94"))) == "50.00052"


def test_number_and_unit_stay_on_one_line() -> None:
    assert units("150000", "50").with_load_unit(Decimal(150_000)) == "150\N{NO-BREAK SPACE}kg"
    assert units("200", "0.001").with_error_unit(Decimal("0.0010")) == "1\N{NO-BREAK SPACE}mg"
