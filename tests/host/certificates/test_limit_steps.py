"""Limits as steps: those of OIML R 76-1:2006, table 6, at its own edges; those of a user's table."""

from fractions import Fraction

import pytest

from scalewright.certificates.limit_steps import limit_steps
from scalewright.handbook_44 import Handbook44Class
from scalewright.own_tolerance import OwnTolerance
from scalewright.procedures.scale_under_test import Held
from scalewright.tolerances import AccuracyClass


@pytest.mark.parametrize(
    ("name", "e", "max_e", "edges_e"),
    [  # OIML R 76-1:2006, table 6: half an e up to the first edge, one up to the second, one and a half beyond
        ("I", "0.001", 220_000, (50_000, 200_000, 220_000)),
        ("II", "0.01", 100_000, (5_000, 20_000, 100_000)),
        ("III", "1", 3_000, (500, 2_000, 3_000)),
        ("III", "50", 400, (400,)),
        ("IIII", "5", 1_000, (50, 200, 1_000)),
    ],
)
def test_the_steps_of_a_class_end_where_its_table_says(
    name: str, e: str, max_e: int, edges_e: tuple[int, ...]
) -> None:
    e_g = Fraction(e)
    steps = limit_steps(Held(AccuracyClass(name, e_g)), max_e * e_g, e_g)
    assert [(step.up_to_g / e_g, 2 * step.limit_g / e_g) for step in steps] == [
        (edge, halves) for halves, edge in enumerate(edges_e, 1)
    ]


def test_in_service_limits_are_twice_as_wide() -> None:
    e_g = Fraction(1)  # OIML R 76-1:2006, 3.5.2
    first, used = (limit_steps(Held(AccuracyClass("III", e_g), used), Fraction(3000), e_g) for used in (False, True))
    assert [2 * step.limit_g for step in first] == [step.limit_g for step in used]


def test_a_table_of_steps_comes_back_as_it_is_and_one_of_lines_is_followed() -> None:
    points = ((Fraction(100), Fraction(1)), (Fraction(300), Fraction(3)), (Fraction(1000), Fraction(10)))
    steps = limit_steps(Held(OwnTolerance("own.csv", "step", points)), Fraction(1000), Fraction(1))
    assert [(step.up_to_g, step.limit_g) for step in steps] == list(points)
    lines = limit_steps(Held(OwnTolerance("own.csv", "line", points)), Fraction(1000), Fraction(1))
    assert lines[-1].up_to_g == 1000
    for step in lines:
        assert step.limit_g == max(Fraction(1), step.up_to_g / 100)


def test_many_steps_are_followed_too() -> None:
    # NIST Handbook 44, class III L, from memory: one d for each 500 d.
    steps = limit_steps(Held(Handbook44Class("III L", Fraction(20)), True), Fraction(1_000_000), Fraction(20))
    assert steps[-1].up_to_g == 1_000_000
    assert steps[-1].limit_g == 100 * 20
