"""Limits for temperature and time, clause by clause."""

from fractions import Fraction

import pytest

from scalewright.errors import InputError
from scalewright.influence_limits import CellClass, Check, Limit, no_load_degrees, no_load_limit
from scalewright.tolerances import AccuracyClass


@pytest.mark.parametrize(
    ("name", "load_v", "error_v"),
    # OIML R 60-1:2021, table 4, p_LC = 0.7: 0.5, 1.0 and 1.5 v; the upper edge belongs to the lower band
    [
        *(("C", 500, "0.35"), ("C", 501, "0.7"), ("C", 2000, "0.7"), ("C", 2001, "1.05"), ("C", 3000, "1.05")),
        *(("A", 50_000, "0.35"), ("B", 5001, "0.7"), ("B", 20_001, "1.05"), ("D", 50, "0.35"), ("D", 201, "1.05")),
    ],
)
def test_the_permissible_error_of_a_cell(name, load_v, error_v) -> None:
    cell = CellClass(name, Fraction(6000), 3000)
    assert cell.v_g == 2
    assert cell.permissible_error_g(Fraction(2 * load_v)) == 2 * Fraction(error_v)


def test_the_creep_limits_of_a_c3_cell_at_its_capacity() -> None:
    """OIML R 60-1:2021, 5.5.1: 0.735 v in 30 min and 0.1575 v from 20 to 30 min."""
    cell = CellClass("C", Fraction(3000), 3000)
    assert cell.creep_limit(Fraction(3000), 0) == Limit(Fraction("0.735"), "OIML R 60-1:2021, 5.5.1, class C")
    assert cell.creep_limit(Fraction(3000), 20).limit_g == Fraction("0.1575")


def test_another_apportioning_factor_is_counted_with() -> None:
    assert CellClass("C", Fraction(3000), 3000, Fraction(1, 2)).permissible_error_g(Fraction(100)) == Fraction(1, 4)


@pytest.mark.parametrize("cell", [("E", 3000, 3000), ("C", 0, 3000), ("C", 3000, 0)])
def test_a_cell_that_cannot_be_is_refused(cell) -> None:
    with pytest.raises(InputError):
        CellClass(cell[0], Fraction(cell[1]), cell[2])


def test_the_zero_may_drift_by_e_in_five_degrees_or_one() -> None:
    """OIML R 76-1:2006, 3.9.2.3 (from memory)."""
    assert [no_load_degrees(AccuracyClass(name, Fraction(1))) for name in ("I", "II", "III", "IIII")] == [1, 5, 5, 5]
    assert no_load_limit(AccuracyClass("II", Fraction(1, 10))).limit_g == Fraction(1, 10)


def test_a_change_of_just_the_limit_passes() -> None:
    limit = Limit(Fraction(1, 2), "stated")
    assert Check("creep", -0.5, 0.1, limit).passes and not Check("creep", 0.501, 0.0, limit).passes
