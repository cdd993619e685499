"""NIST Handbook 44, section 2.20, table 6: from memory, the editions differ."""

from fractions import Fraction

import pytest

from scalewright.errors import InputError
from scalewright.handbook_44 import Handbook44Class
from scalewright.tolerances import AccuracyClass

D_G = Fraction(1, 2)


@pytest.mark.parametrize(
    ("name", "last_of_band", "maintenance_d"),
    [
        ("I", 50_000, 1),
        ("I", 200_000, 2),
        ("I", 10**6, 3),
        ("II", 5_000, 1),
        ("II", 20_000, 2),
        ("II", 10**6, 3),
        ("III", 500, 1),
        ("III", 2_000, 2),
        ("III", 4_000, 3),
        ("III", 10**6, 5),
        ("IIII", 50, 1),
        ("IIII", 200, 2),
        ("IIII", 400, 3),
        ("IIII", 10**6, 5),
        ("III L", 0, 1),
        ("III L", 500, 1),
        ("III L", 501, 2),
        ("III L", 10_000, 20),
    ],
)
def test_bands_end_with_their_last_division(name, last_of_band, maintenance_d):
    limits = Handbook44Class(name, D_G)
    assert limits.permissible_error_g(last_of_band * D_G, in_service=True) == maintenance_d * D_G
    assert limits.permissible_error_g(last_of_band * D_G) == Fraction(maintenance_d, 2) * D_G


def test_the_next_division_belongs_to_the_next_band():
    assert Handbook44Class("III", D_G).permissible_error_g(501 * D_G, in_service=True) == 2 * D_G


def test_it_differs_from_r_76():
    ours, theirs = Handbook44Class("III", Fraction(1)), AccuracyClass("III", Fraction(1))
    assert ours.permissible_error_g(Fraction(3000)) == theirs.permissible_error_g(Fraction(3000)) == Fraction(3, 2)
    assert ours.permissible_error_g(Fraction(5000)) == Fraction(5, 2) != theirs.permissible_error_g(Fraction(5000))


def test_its_source_says_that_it_is_from_memory():
    assert Handbook44Class("III", D_G).source.endswith("class III, d = 0.5 g (from memory, edition dependent)")


def test_a_class_that_does_not_exist_is_refused():
    with pytest.raises(InputError, match="Handbook 44 class 'V', expected one of I, II, III, IIII, III L"):
        Handbook44Class("V", D_G)
