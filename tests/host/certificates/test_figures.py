"""The reported figures of a point, against decimals computed by hand."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.certificates.document import Point
from scalewright.certificates.figures import Figures, decimal
from scalewright.certificates.print_units import PrintUnits

UNITS = PrintUnits("kg", "g", Decimal("0.5"))
# 25 000.3 g of reference mass, 24 988.66 g shown: E = -11.64 g; U = 2.28 x 14.7 g = 33.516 g
MASS_G, SHOWN_G = Fraction("25000.3"), Fraction("24988.66")
POINT = Point(Decimal(25_000), "up", MASS_G, SHOWN_G, 14.7, 10.9, 2.28, Fraction(25), "accept")


def test_each_figure_is_in_its_unit_and_to_the_place_of_the_uncertainty() -> None:
    # U = 33.516 g: 33 g would take 1.5 % off, 34 is the nearest; E and I to whole grams.
    assert Figures.of(POINT, UNITS) == Figures(
        Decimal(25), Decimal("24.989"), Decimal(-12), Decimal(34), Decimal("2.28"), 10, Decimal(25)
    )


@pytest.mark.parametrize(("freedom", "shown"), [(4.0, 4), (60.9, 60), (999.9, 999), (1000.0, None), (inf, None)])
def test_degrees_of_freedom_are_cut_and_left_out_where_they_make_no_difference(
    freedom: float, shown: int | None
) -> None:
    # JCGM 100:2008, G.4.1: cut to the next lower integer.
    assert Figures.of(replace(POINT, degrees_of_freedom=freedom), UNITS).degrees_of_freedom == shown


@given(st.decimals(-(10**9), 10**9, places=9))
def test_an_exact_figure_keeps_every_digit_and_no_trailing_zero(value: Decimal) -> None:
    found = decimal(Fraction(value))
    assert found == value
    assert "E" not in str(found) or found.adjusted() < -6
    assert found == found.to_integral_value() or not str(found).endswith("0")
