"""Masses to hold a scale against, each with its source and an honest uncertainty."""

from decimal import Decimal
from fractions import Fraction
from math import hypot, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.errors import InputError
from scalewright.masses import ReferenceMass, class_weight, coin_names, coins, water, weighed_elsewhere
from scalewright.weight_classes import WeightClass
from tests.host.reference_tables import rows

COINS = rows("coins.csv")


@pytest.mark.parametrize("row", COINS, ids=lambda row: row["coin"])
def test_a_coin_has_its_mints_nominal_mass(row):
    assert coins(row["coin"]).value_g == Decimal(row["mass_g"])


def test_every_coin_of_the_table_is_offered():
    assert coin_names() == [row["coin"] for row in COINS]


def test_coins_wear_alike_so_their_uncertainties_add_up():
    one, ten = coins("EUR 1"), coins("EUR 1", 10)
    assert ten.value_g == 10 * one.value_g == Decimal("75.00")
    assert ten.u_g == 10 * one.u_g == Decimal("1.30")  # 3 % / sqrt 3


def test_22_pence_are_about_80_g():
    """Common practice: 22 pence pass for 80 g; by the mint they are 78.3 g. Such a coin must carry that difference."""
    pennies = coins("GBP 1p", 22)
    assert round(pennies.value_g, 1) == Decimal("78.3")
    assert abs(80 - pennies.value_g) <= 2 * pennies.u_g


def test_coins_are_never_offered_for_an_adjustment():
    for name in coin_names():
        mass = coins(name, 5)
        assert "rough check only" in mass.caution
        assert mass.supports == "too uncertain for any OIML R 76 class: a rough check only"


def test_a_class_weight_at_nominal_value():
    """OIML R 111-1:2004, table 1: 200 g M1, 10 mg. EURAMET cg-18 v4.0, 7.1.2 (from memory): u = mpe / sqrt 3."""
    mass = class_weight(WeightClass("M1"), Decimal(200))
    assert (mass.value_g, mass.u_g, mass.largest_error_g) == (200, Decimal("0.00577"), Decimal("0.01"))
    assert "class III with e = 0.1 g (2000 e)" in mass.supports


def test_water_weighs_what_its_density_and_buoyancy_say():
    """998.2067 kg/m3 at 20 °C (Tanaka et al. 2001); conventional mass by OIML D 28:2004."""
    mass = water(1000, 0.05, 20, 0.1, "distilled")
    expected_g = 998.2067 * (1 - 1.2 / 998.2067) / 0.99985
    assert float(mass.value_g) == pytest.approx(expected_g, abs=5e-4)
    assert mass.density_kg_m3 == pytest.approx(998.2067, abs=5e-5)


def test_the_uncertainty_of_water_is_its_components():
    """u(V) = 0.5 mL; 1 K at 25 °C is 0.257 kg/m3 (table: 997.2988 - 996.7857, halved); tap water 0.3 kg/m3; glass."""
    mass = water(500, 0.5, 25)
    expected = 0.5 * 0.997047, (997.2988 - 996.7857) / 2 * 0.5, 0.3 * 0.5, 997.047 * 0.5 * 3e-5 * 5 / sqrt(3)
    assert [component.u_g for component in mass.components] == pytest.approx(expected, rel=2e-4)
    assert float(mass.u_g) == pytest.approx(hypot(*expected), rel=5e-3)
    assert "mains" in mass.caution


def test_at_the_end_of_the_range_the_temperature_still_counts():
    """Half of what is left of the range: 40 °C, 992.2152, to 39 °C, 992.5941."""
    assert water(1000, 1, 40).components[1].u_g == pytest.approx((992.5941 - 992.2152) / 2, rel=1e-3)


def test_a_borrowed_scale_passes_on_division_error_and_repeatability():
    """JCGM 100:2008, F.2.2.1: a step d spreads by d / sqrt 12, at zero and at the load; a mean of n by s / sqrt n."""
    mass = weighed_elsewhere(Decimal("512.3"), 0.1, 0.05, error_g=Decimal("-0.2"), repeatability_g=0.04, readings=4)
    assert mass.value_g == Decimal("512.5")
    assert float(mass.u_g) == pytest.approx(sqrt(2 * 0.1**2 / 12 + 0.04**2 / 4 + 0.05**2), rel=5e-3)
    assert mass.largest_error_g == 2 * mass.u_g


@given(st.decimals(Decimal("0.1"), 30_000, places=4), st.floats(1e-4, 50), st.floats(0, 50))
def test_a_value_keeps_its_digits_down_to_a_hundredth_of_its_uncertainty(reading_g, division_g, u_error_g):
    mass = weighed_elsewhere(reading_g, division_g, u_error_g)
    assert abs(mass.value_g - reading_g) <= mass.u_g / 200
    assert float(mass.u_g) == pytest.approx(hypot(*(c.u_g for c in mass.components)), rel=6e-3)


def every_kind() -> list[ReferenceMass]:
    return [
        class_weight(WeightClass("F1"), Decimal(1000)),
        coins("USD nickel", 4),
        water(250, 2, 18),
        weighed_elsewhere(Decimal(300), 0.01, 0.005),
    ]


@pytest.mark.parametrize("mass", every_kind(), ids=lambda mass: mass.name)
def test_every_mass_says_where_it_comes_from_and_what_it_is_good_for(mass):
    assert mass.u_g > 0
    assert mass.density_kg_m3 > 0
    assert mass.components
    assert mass.source
    assert mass.supports


def test_what_a_mass_supports_is_the_one_third_rule():
    """OIML R 76-1:2006, 3.7.1: class III, e = 0.5 g, 1024 e: 0.5 g allowed; U = 0.137 g is within a third of it."""
    assert "class III with e = 0.5 g (1024 e)" in weighed_elsewhere(Decimal(512), 0.1, 0.055).supports
    worse = weighed_elsewhere(Decimal(512), 0.1, 0.1)
    assert "class III with e = 1 g (512 e)" in worse.supports
    assert 3 * Fraction(worse.largest_error_g) > Fraction(1, 2)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: coins("EUR 3"), "coin 'EUR 3' is not in the table; expected one of EUR 2, EUR 1"),
        (lambda: coins("EUR 2", 0), "0 coins; expected a whole number from 1"),
        (lambda: water(0, 1, 20), "0 mL of tap water"),
        (lambda: water(500, 1, 41), "water at 41 °C; expected 0 to 40 °C"),
        (lambda: water(500, 1, 20, purity="sea"), "of sea water"),
        (lambda: weighed_elsewhere(Decimal(0), 1, 1), "a reading and division above 0"),
        (lambda: class_weight(WeightClass("M1"), Decimal(3)), "no M1 weight of 3 g"),
    ],
)
def test_what_is_no_mass_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()
