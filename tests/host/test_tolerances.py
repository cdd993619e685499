"""OIML R 76-1:2006, table 6, at and around every edge; the upper edge belongs to the lower band."""

from fractions import Fraction

import pytest

from scalewright.errors import InputError
from scalewright.tolerances import AccuracyClass


@pytest.mark.parametrize(
    ("name", "edges_e"),
    # Verified against directive 90/384/EEC, annex I, which has the same table.
    [("I", (50_000, 200_000)), ("II", (5_000, 20_000)), ("III", (500, 2_000)), ("IIII", (50, 200))],
)
@pytest.mark.parametrize("e_g", [Fraction(1), Fraction(2, 10), Fraction(5, 1000)])
def test_the_limit_steps_after_each_edge(name: str, edges_e: tuple[int, int], e_g: Fraction) -> None:
    limits = AccuracyClass(name, e_g)
    just = Fraction(1, 1000)
    for halves, edge in enumerate(edges_e, start=1):
        assert limits.permissible_error_g(edge * e_g) == Fraction(halves, 2) * e_g
        assert limits.permissible_error_g((edge + just) * e_g) == Fraction(halves + 1, 2) * e_g
        assert limits.permissible_error_g(edge * e_g, in_service=True) == halves * e_g


def test_a_load_beyond_the_class_has_no_limit() -> None:
    with pytest.raises(InputError, match="class III ends at 10000 e"):
        AccuracyClass("III", Fraction(1)).permissible_error_g(Fraction(10_001))


def test_a_class_that_does_not_exist_is_refused() -> None:
    with pytest.raises(InputError, match="'V', expected one of I, II, III, IIII"):
        AccuracyClass("V", Fraction(1))
