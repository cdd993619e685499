"""Which of the masses is not what it says."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest

from scalewright.procedures.loads import directions, up_and_down
from scalewright.procedures.odd_mass import odd_mass
from scalewright.procedures.range_check import Step
from scalewright.procedures.requests import Load

# The fewest pieces of a set 100 200 200* 500 1000 2000 for tenths of 3 kg; 200* stands beside 200 only.
PIECES = {
    300: ("200", "100"),
    600: ("500", "100"),
    900: ("500", "200", "200*"),
    1200: ("1000", "200"),
    1500: ("1000", "500"),
    1800: ("1000", "500", "200", "100"),
    2100: ("2000", "100"),
    2400: ("2000", "200", "200*"),
    2700: ("2000", "500", "200"),
    3000: ("2000", "1000"),
}


def named(steps: int = 10) -> list[Load]:
    return [Load(load.load_g, PIECES.get(int(load.load_g), ())) for load in up_and_down(Decimal(3000), steps)]


def weighed(loads: list[Load], wrong: dict[str, float], seed: int = 1) -> list[Step]:
    """Return the steps of a bent scale with a loop and 0.03 g of noise."""
    noise, steps = Random(seed), []
    for load, direction in zip(loads, directions([load.load_g for load in loads]), strict=True):
        share = float(load.load_g) / 3000
        error_g = 0.8 * share**2 - 0.5 * share + (0.2 * share * (1 - share) if direction == "down" else 0)
        error_g += noise.gauss(0, 0.03) + sum(wrong.get(name, 0) for name in load.pieces or (str(load.load_g),))
        limit_g = Fraction(1, 2) if load.load_g <= 500 else Fraction(1) if load.load_g <= 2000 else Fraction(3, 2)
        steps.append(Step(load.load_g, direction, Decimal(0), Fraction(error_g), limit_g))
    return steps


@pytest.mark.parametrize("piece", ["100", "200", "200*", "500", "1000", "2000"])
@pytest.mark.parametrize("error_g", [-3.0, 0.9])
def test_a_wrong_piece_is_found_in_all_loads_it_is_part_of(piece: str, error_g: float) -> None:
    loads = named()
    odd = odd_mass(loads, weighed(loads, {piece: error_g}))
    assert odd is not None and odd.names == (piece,)
    assert float(odd.error_g) == pytest.approx(error_g, abs=0.15)


@pytest.mark.parametrize("seed", range(20))
def test_masses_that_are_right_are_not_suspected(seed: int) -> None:
    loads = named()
    assert odd_mass(loads, weighed(loads, {}, seed)) is None


def test_where_pieces_are_not_known_the_load_is_named() -> None:
    loads = list(up_and_down(Decimal(3000), 5))
    odd = odd_mass(loads, weighed(loads, {"1800": 1.0}))
    assert odd is not None and odd.names == ("the masses of 1800 g",)


def test_pieces_that_always_go_together_are_both_named() -> None:
    loads = [Load(load.load_g, ("A", "B") if load.load_g == 1800 else ()) for load in up_and_down(Decimal(3000), 5)]
    odd = odd_mass(loads, weighed(loads, {"A": 1.0}))
    assert odd is not None and set(odd.names) == {"A", "B"}


def test_what_is_wrong_only_on_the_way_down_is_no_mass() -> None:
    loads = named()
    steps = weighed(loads, {})
    steps[15] = replace(steps[15], error_g=Fraction(3))
    assert (steps[15].direction, steps[15].load_g) == ("down", 1500)
    assert odd_mass(loads, steps) is None


def test_a_third_of_the_limit_is_allowed_to_masses() -> None:
    # OIML R 76-1:2006, 3.7.1: 500 g are first part of 600 g, where the limit is 1 g
    loads = named()
    assert odd_mass(loads, weighed(loads, {"500": 0.25})) is None
    assert odd_mass(loads, weighed(loads, {"500": 0.45})) is not None


def test_too_few_points_tell_nothing() -> None:
    loads = named(2)
    assert odd_mass(loads, weighed(loads, {"500": -3.0})) is None
