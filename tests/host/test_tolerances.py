"""OIML R 76-1:2006: tables 3 and 6 at and around every edge (the upper edge belongs to the lower band), and 3.7.1."""

from fractions import Fraction

import pytest

from scalewright.errors import InputError
from scalewright.tolerances import AccuracyClass, finest_class
from scalewright.weight_classes import WeightClass
from tests.host.reference_tables import rows


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


@pytest.mark.parametrize("row", rows("oiml_r76_mpe.csv"), ids=lambda row: f"{row['class']}, band {row['band']}")
def test_every_band_of_table_6_ends_where_it_says(row):
    limits = AccuracyClass(row["class"], Fraction(2))
    just_in, last = Fraction(row["m_gt_e"]) + Fraction(1, 1000), Fraction(row["m_le_e"] or 10**7)
    for intervals in (just_in, last):
        assert limits.permissible_error_g(2 * intervals) == 2 * Fraction(row["mpe_initial_e"])
        assert limits.permissible_error_g(2 * intervals, in_service=True) == 2 * Fraction(row["mpe_in_service_e"])


@pytest.mark.parametrize("row", rows("oiml_r76_classes.csv"), ids=lambda row: f"{row['class']} from {row['e_min_g']} g")
def test_every_row_of_table_3_holds_at_both_its_ends(row):
    fewest, most = int(row["n_min"]), int(row["n_max"] or 10**6)
    for e_g in {Fraction(row["e_min_g"]), Fraction(row["e_max_g"] or 1000)}:
        limits = AccuracyClass(row["class"], e_g)
        assert limits.min_g == int(row["min_capacity_e"]) * e_g
        assert not limits.objections(fewest * e_g)
        assert not limits.objections(most * e_g)
        assert f"begins at {fewest} e" in limits.objections((fewest - 1) * e_g)[0]
        if row["n_max"]:
            assert f"ends at {most} e" in limits.objections((most + 1) * e_g)[0]


def test_an_interval_below_the_class_or_of_another_series_is_objected_to():
    assert AccuracyClass("III", Fraction(5, 100)).objections(Fraction(100)) == [
        "e = 0.05 g; class III begins at 0.1 g",
    ]
    assert AccuracyClass("III", Fraction(5, 100)).min_g is None
    assert "1, 2 or 5 times a power of ten" in AccuracyClass("III", Fraction(3)).objections(Fraction(3000))[0]


# R 111 and R 76 fit together: at the most intervals a class may have, the limit of 1.5 e is three times the limit of
# F1 (class II), M1 (class III) or M3 (class IIII) weights of Max. R 76-1, 3.7.1 with R 111-1, table 1.
@pytest.mark.parametrize(
    ("weights", "max_g", "expected"),
    [
        ("F1", 1000, AccuracyClass("II", Fraction(1, 100))),
        ("F1", 10_000, AccuracyClass("II", Fraction(1, 10))),
        ("M1", 10_000, AccuracyClass("III", Fraction(1))),
        ("M1", 1000, AccuracyClass("III", Fraction(1, 10))),
        ("M3", 5000, AccuracyClass("IIII", Fraction(5))),
    ],
)
def test_the_weights_made_for_a_class_reach_its_finest_scale(weights, max_g, expected):
    error_g = WeightClass(weights).permissible_error_g(Fraction(max_g))
    assert 3 * error_g == expected.permissible_error_g(Fraction(max_g))
    assert finest_class(Fraction(max_g), error_g) == expected


def test_a_mass_wrong_by_more_than_a_third_of_every_limit_supports_no_class():
    # Class IIII begins at 100 e; its limit there is 1 e: a mass must be right to 1/300.
    assert finest_class(Fraction(1000), Fraction(1000, 300)) == AccuracyClass("IIII", Fraction(10))
    assert finest_class(Fraction(1000), Fraction(1000, 299)) is None
