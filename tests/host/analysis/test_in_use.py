"""The uncertainty in use and the minimum weight, against a constructed example and closed forms of EURAMET cg-18."""

from dataclasses import replace
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.analysis.error_of_indication import AdjustedBefore, Repeatability, ScaleUnderTest
from scalewright.analysis.in_use import Conditions, ErrorLine, InUse, error_line
from scalewright.errors import InputError
from tests.host.analysis.test_error_of_indication import (
    INPUTS,
    RESULTS,
    constructed_points,
    constructed_scale,
    printed,
)

USE = RESULTS["in_use"]


def constructed_use():
    use = INPUTS["use"]
    conditions = Conditions(use["K_T_per_K"], use["dT_K"], use["adj_drift_rel"])
    return InUse(constructed_scale(), error_line(list(constructed_points())), conditions, INPUTS["Max_g"])


def test_the_line_of_the_constructed_example():
    """cg-18 v4.0, appendix C (from memory)."""
    line, expected = error_line(list(constructed_points())), RESULTS["fit_through_zero"]
    assert line.slope == printed(expected["a1"])
    assert line.u_slope == printed(expected["u_a1"])
    assert line.chi_squared == printed(expected["chi2"])
    assert line.degrees_of_freedom == expected["dof"]
    assert line.holds and line.errors_near


def test_the_use_of_the_constructed_example():
    """cg-18 v4.0, 7.4, 7.5 and appendix G (from memory)."""
    use = constructed_use()
    for point in USE["U_gl"]:
        assert use.global_u_g(point["R"]) == printed(point["U"])
    alpha_g, beta = use.global_line()
    assert (alpha_g, beta) == (printed(USE["line"]["alpha_g"]), printed(USE["line"]["beta"]))
    for wanted in USE["minimum_weight"]:
        assert use.minimum_weight(wanted["req"], wanted["SF"]).minimum_g == printed(wanted["R_min_g"])


@pytest.mark.parametrize(("safety_factor", "minimum_g"), [(1, 501.0020), (2, 1004.0161), (3, 1509.0543)])
def test_minimum_weights_of_a_given_line(safety_factor, minimum_g):
    """cg-18 v4.0, appendix G: alpha = 0.5 g, beta = 2e-6, 0.1 % wanted; values computed from the formula."""
    scale = ScaleUnderTest(0.5 * sqrt(1.5), Repeatability(0.0, 9), 0.0, AdjustedBefore())  # 2 sqrt(2 d**2/12) = 0.5 g
    slope = ErrorLine(2e-6, 0.0, 0.0, 1, True)
    use = InUse(scale, slope, Conditions(), 10_000)
    assert use.global_line() == pytest.approx((0.5, 2e-6), rel=1e-9)
    assert use.minimum_weight(1e-3, safety_factor).minimum_g == pytest.approx(minimum_g, abs=5e-5)


def test_no_weight_is_as_accurate_as_that():
    use = constructed_use()
    assert use.minimum_weight(2e-4).minimum_g is None  # less than beta
    assert use.minimum_weight(2.6e-4).minimum_g is None  # it would lie beyond Max
    assert use.minimum_weight(1e-3, 4).minimum_g is None


@given(st.floats(0, 3000))
def test_the_global_line_is_never_below_the_uncertainty(reading_g):
    use = constructed_use()
    alpha_g, beta = use.global_line()
    assert use.global_u_g(reading_g) <= (alpha_g + beta * reading_g) * (1 + 1e-12)
    assert use.expanded_u_g(reading_g) <= use.global_u_g(reading_g)


@given(st.floats(2.9e-4, 0.1), st.floats(1, 3))
def test_a_weight_from_the_minimum_up_is_accurate_enough(required, safety_factor):
    use = constructed_use()
    minimum_g = use.minimum_weight(required, safety_factor).minimum_g
    if minimum_g is not None:
        for weight_g in (minimum_g, (minimum_g + 3000) / 2, 3000):
            assert use.global_u_g(weight_g) * safety_factor <= required * weight_g * (1 + 1e-9)


def test_each_condition_of_use_counts():
    """cg-18 v4.0, 7.4 (from memory): temperature K_T dT / sqrt 12, drift / sqrt 3, air as at calibration."""
    assert Conditions(1e-5, 6).u_relative == pytest.approx(6e-5 / sqrt(12))
    assert Conditions(adjustment_drift=3e-5).u_relative == pytest.approx(3e-5 / sqrt(3))
    assert Conditions(temperature_span_k=5, air_varies=True).u_relative == pytest.approx(1.776e-6, abs=5e-10)
    assert Conditions().u_relative == 0


def test_errors_that_lie_on_no_line_through_zero_are_noticed():
    points = list(constructed_points())
    bent = replace(points[2], budget=replace(points[2].budget, estimate=points[2].error_g + 0.6))
    line = error_line([*points[:2], bent, *points[3:]])
    assert not line.holds and not line.errors_near


def test_points_that_determine_no_line_are_refused():
    points = list(constructed_points())
    for wrong in ([points[0]], [], [replace(points[1], budget=replace(points[1].budget, components=()))]):
        with pytest.raises(InputError, match="determine no line"):
            error_line(wrong)


def test_use_is_one_json_object():
    found = constructed_use().as_json([0.0, 1500.0])
    assert found["readings"][1]["expanded_u_uncorrected_g"] == printed(USE["U_gl"][2]["U"])
    assert found["line_holds"] is True
    assert found["readings"][0]["expanded_u_corrected_g"] == found["alpha_g"]
