"""The printed sheet: words and digits that every form shows alike."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from scalewright.certificates.document import Series, Share
from scalewright.certificates.sheet import sheet
from tests.host.certificates.cases import BALANCE, KITCHEN, PLATFORM


def test_the_summary_tells_conformity_and_the_largest_error_with_its_uncertainty() -> None:
    assert sheet(KITCHEN).summary[:2] == (
        ("Conformity", "within its limits"),
        ("Largest error", "+0.19 ± 0.26\xa0g at 2000\xa0g"),
    )
    # U = 38.4 g: 38 g would take 1.04 % off.
    assert sheet(PLATFORM).summary[1] == ("Largest error", "\N{MINUS SIGN}128 ± 39\xa0g at 150\xa0kg")
    assert sheet(BALANCE).summary[1] == ("Largest error", "+1.2 ± 1.2\xa0mg at 100\xa0g")


def test_what_was_found_stands_beside_what_was_left() -> None:
    left = KITCHEN.tests[1]
    twice = replace(KITCHEN, tests=(replace(left, state="as found"), left))
    assert [table.title for table in sheet(twice).side_by_side] == [
        "Repeatability, as found",
        "Repeatability, as left",
        "Eccentric loading, 1000\xa0g, as found",
        "Eccentric loading, 1000\xa0g, as left",
        "Further tests, as found",
        "Further tests, as left",
    ]
    assert len(sheet(KITCHEN).side_by_side) == 3


def test_what_the_uncertainty_is_made_of_is_shown_for_the_heaviest_load() -> None:
    shares = (Share("repeatability", 0.04), Share("air", 0.03))
    heaviest = replace(KITCHEN.final.points[6], u_error_g=0.05, shares=shares)
    points = (*KITCHEN.final.points[:6], heaviest)
    table = sheet(replace(KITCHEN, tests=(replace(KITCHEN.final, points=points),))).side_by_side[-1]
    assert table.title == "Standard uncertainty at 3000\xa0g, as left"
    assert table.rows == (("repeatability", "0.040"), ("air", "0.030"), ("combined", "0.050"))


def test_eccentric_loading_shows_difference_and_error_apart() -> None:
    table = sheet(KITCHEN).side_by_side[1]
    assert table.rows[1] == ("front left", "+0.17", "+0.19")  # 1000.19 g less 1000.02 g, less 1000 g
    assert table.note == "Limit of the error: ± 1 g."


def test_a_series_that_does_not_scatter_is_printed_as_it_is() -> None:
    still = Series(Decimal(100), (Fraction(100), Fraction(100)), 0.0, Fraction(1))
    quiet = replace(KITCHEN, tests=(replace(KITCHEN.final, repeatability=(still,)),))
    assert sheet(quiet).side_by_side[0].rows == (("100", "2", "0", "0", "1"),)


def test_what_is_not_known_is_not_mentioned() -> None:
    bare = replace(KITCHEN, scale=replace(KITCHEN.scale, maker="", model="", place="", event_counter=None, seal=""))
    labels = [label for label, _ in sheet(bare).groups[0].facts]
    assert "Maker, model" not in labels
    assert "Place of use" not in labels
    assert dict(sheet(bare).groups[0].facts)["As it was left"] == "coefficients 7C31A9E2"
