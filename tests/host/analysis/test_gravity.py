"""Normal gravity, and what moving a scale does."""

import pytest

from scalewright.analysis.correction import combined
from scalewright.analysis.gravity import GRS80, WGS84, Gravity, gravity, moved, normal_gravity_m_s2, surveyed_gravity
from scalewright.errors import InputError
from tests.host.reference_tables import rows


@pytest.mark.parametrize(
    "row", rows("gravity_check.csv"), ids=lambda row: f"{row['latitude_deg']} deg {row['height_m']} m"
)
def test_every_printed_digit_of_the_table_comes_back(row):
    latitude_deg, height_m = float(row["latitude_deg"]), float(row["height_m"])
    assert f"{normal_gravity_m_s2(latitude_deg, ellipsoid=WGS84):.10f}" == row["g_wgs84_ellipsoid"]
    assert f"{normal_gravity_m_s2(latitude_deg, ellipsoid=GRS80):.10f}" == row["g_grs80_ellipsoid"]
    at_height = normal_gravity_m_s2(latitude_deg, height_m)
    assert f"{at_height:.9f}" == row["g_wgs84_at_height_2nd_order"]
    assert at_height == pytest.approx(float(row["g_wgs84_minus_3.086e-6_h"]), abs=1e-5)  # the linear free-air rule


def test_the_published_example():
    """51.03361 degrees, 149 m: 9.811161 m/s2, by the same second-order formula; verified."""
    assert round(normal_gravity_m_s2(51.03361, 149), 6) == 9.811161


def test_gravity_is_the_same_north_and_south():
    assert normal_gravity_m_s2(-33, 200) == normal_gravity_m_s2(33, 200)


def change_ppm(there, here):
    return (gravity("here", *here).m_s2 / gravity("there", *there).m_s2 - 1) * 1e6


# Computed from the same formulas elsewhere: what a scale shows too much after a move.
@pytest.mark.parametrize(
    ("there", "here", "ppm"),
    [
        ((44.5, 0), (45.5, 0), 92.3),
        ((45, 0), (45, 100), -31.5),
        ((0, 0), (90, 0), 5302),
        ((52.5, 40), (0, 2850), -4204.5),
    ],
)
def test_a_moved_scale_shows_the_ratio_of_the_gravities(there, here, ppm):
    assert change_ppm(there, here) == pytest.approx(ppm, abs=0.5 if abs(ppm) > 1000 else 0.05)
    shown_for_a_kilogram = 1 + change_ppm(there, here) / 1e6
    correction = moved(gravity("there", *there), gravity("here", *here))
    assert shown_for_a_kilogram * correction.factor == pytest.approx(1, abs=1e-15)


def test_two_places_by_formula_are_each_uncertain_by_50_ppm():
    correction = moved(gravity("there", 50, 100), gravity("here", 40, 500))
    assert correction.u_relative == pytest.approx(2**0.5 * 50e-6)


def test_a_scale_that_was_not_moved_needs_nothing_and_nothing_is_uncertain():
    here = gravity("here", 50, 100)
    assert combined([moved(here, here)]) == (1, 0)


def test_a_survey_is_believed_more_than_the_formula():
    assert surveyed_gravity("here", 9.8112) == Gravity("here", 9.8112, 1e-5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: gravity("here", 91, 0), "latitude 91 °; expected -90 to 90 °"),
        (lambda: gravity("here", 0, 9001), "height 9001 m; expected -500 to 9000 m"),
        (lambda: gravity("here", float("nan"), 0), "latitude nan"),
        (lambda: surveyed_gravity("here", 0), "gravity 0 m/s2; expected 9.75 to 9.84 m/s2"),
    ],
)
def test_what_is_not_on_earth_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()
