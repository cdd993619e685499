"""Eccentricity: where the load goes, how heavy it is, and a side that is off."""

from decimal import Decimal
from fractions import Fraction

import pytest

from scalewright.procedures.eccentricity import Eccentricity, EccentricityTest, load_for, places_for
from scalewright.procedures.requests import MIDDLE, PlaceLoad
from tests.host.procedures.virtual_bench import carried_out, failing, loads

QUARTERS = places_for("rectangular", 4)
(KILOGRAM,) = loads(1000)


@pytest.mark.parametrize(
    ("max_g", "supports", "load_g"),
    # OIML R 76-1:2006, 3.6.2.1: a third of Max on up to four supports; 3.6.2.2: Max / (n - 1) on n > 4. From memory.
    [(3000, 1, 1000), (3000, 4, 1000), (200_000, 4, 67_000), (60_000_000, 6, 12_000_000), (0.3, 4, 0.1)],
)
def test_how_heavy_the_load_is(max_g: float, supports: int, load_g: float) -> None:
    assert load_for(Decimal(str(max_g)), supports) == Decimal(str(load_g))


def test_the_middle_of_each_quarter_is_loaded() -> None:
    # A.4.7.1: a quarter of the pan in turn. Centroid of a quarter of a disc: 4 r / 3 pi = 0.424 r from either diameter.
    assert [(place.name, place.x, place.y) for place in QUARTERS] == [
        ("front left", Decimal("-0.5"), Decimal("-0.5")),
        ("back left", Decimal("-0.5"), Decimal("0.5")),
        ("back right", Decimal("0.5"), Decimal("0.5")),
        ("front right", Decimal("0.5"), Decimal("-0.5")),
    ]
    assert {abs(place.x) for place in places_for("round", 3)} == {Decimal("0.42")}


@pytest.mark.parametrize("pan", ["rectangular", "round"])
@pytest.mark.parametrize("supports", [5, 6, 8, 10])
def test_more_supports_are_loaded_one_by_one(pan: str, supports: int) -> None:
    places = places_for(pan, supports)
    assert len(places) == len(set(places)) == (supports if pan == "round" else supports // 2 * 2)
    assert sum(place.x for place in places) == sum(place.y for place in places) == 0
    assert all(abs(place.x) < 1 and abs(place.y) < 1 for place in places)


def test_what_the_uncertainty_takes_from_it() -> None:
    # EURAMET cg-18 v4.0, 7.1.1 (from memory): u_rel = |dI_ecc|max / (2 L sqrt 3); 0.6 / (2 * 1000 * 1.7320508)
    indications_g = (Fraction(1000), Fraction(10006, 10), Fraction(9995, 10))
    found = Eccentricity(Decimal(1000), (MIDDLE, *QUARTERS[:2]), indications_g, Fraction(1))
    assert found.differences_g == (0, Fraction(6, 10), Fraction(-5, 10))
    assert found.u_relative == pytest.approx(1.7320508e-4, rel=1e-7)


def test_the_load_is_moved_over_a_good_pan() -> None:
    run = carried_out(EccentricityTest(KILOGRAM, QUARTERS))
    assert failing(run) == []
    placed = [request for request, _ in run.answered if isinstance(request, PlaceLoad)]
    assert [request.load_g for request in placed] == [0, *(1000,) * 5]
    assert [request.at for request in placed] == [MIDDLE, MIDDLE, *QUARTERS]
    # corners of 1e-6 and -0.6e-6 a mm, 75 mm from the middle (virtual_scale.load_cell): back left is 0.12 g less
    back_left, front_right = (float(run.result.as_found[0].differences_g[k]) for k in (2, 4))
    assert (back_left, front_right) == pytest.approx((-0.12, 0.12), abs=0.04)


def test_a_side_that_is_off_fails_on_both_sides_and_not_in_the_middle() -> None:
    run = carried_out(EccentricityTest(KILOGRAM, QUARTERS), "VIRTual:CELL corner_x_per_mm,2e-5")
    # 75 mm to a side: 1.5 g in 1 kg; limit 1 g
    assert failing(run) == [f"error at 1000 g, {place.name}" for place in QUARTERS]
    outcomes = {outcome.what.rpartition(", ")[2]: outcome for outcome in run.outcomes}
    assert outcomes["middle"].passes
    assert float(outcomes["front right"].value) == pytest.approx(1.5, abs=0.3)
    assert float(outcomes["front left"].value) == pytest.approx(-1.5, abs=0.3)


def test_one_bad_corner_of_four_is_off_most_in_that_corner() -> None:
    # firmware/virtual_scale/README.md, "One bad corner": E = 0.8 % at (150 mm, 150 mm), taken away in the middle.
    # At 75 mm each way: 1.3e-5 * 150 + 8.9e-8 * 75 ** 2 = 2.45 g in 1 kg; on the other end of the diagonal -1.45 g
    corner = {"corner_x_per_mm": 1.3e-5, "corner_y_per_mm": 1.3e-5, "corner_xy_per_mm2": 8.9e-8}
    faults = [f"VIRTual:CELL {name},{value}" for name, value in corner.items()]
    run = carried_out(EccentricityTest(KILOGRAM, QUARTERS), *faults)
    assert failing(run) == ["error at 1000 g, front left", "error at 1000 g, back right"]
    _, front_left, _, back_right, _ = map(float, run.result.as_found[0].differences_g)
    assert (front_left, back_right) == pytest.approx((-1.45, 2.45), abs=0.05)
