"""Use of a fitted function in both directions, against the worked examples of ISO/TS 28037 and GUM H.3."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.analysis.calibration_function import REACH, CalibrationFunction, calibration_function
from scalewright.analysis.polynomial import fit_polynomial
from scalewright.errors import InputError

REFERENCE = Path(__file__).parents[2] / "reference_data"
LINES = json.loads((REFERENCE / "iso_ts_28037_lines.json").read_text())["examples"]
PONTIUS = json.loads((REFERENCE / "nist_strd" / "pontius_derived.json").read_text())
H3 = json.loads((REFERENCE / "gum_h3_thermometer.json").read_text())


def exact(values):
    return [Decimal(str(value)) for value in values]


def fitted(x, y, degree=1, u=None) -> CalibrationFunction:
    x, y = exact(x), exact(y)
    return calibration_function(fit_polynomial(x, y, degree, u=None if u is None else exact(u)), x)


@pytest.mark.parametrize("name", ["ts28037_wls_equal", "ts28037_wls_unequal"])
def test_iso_ts_28037_inverse_and_forward_use_to_the_printed_digits(name):
    """ISO/TS 28037:2010, 6.3 and 11; obtained through public test suites, recomputed."""
    example = LINES[name]
    function, published = fitted(example["x"], example["y"], u=example["u_y"]), example["published"]
    inverse = published["inverse"]
    assert function.inverse(inverse["y"], inverse["u_y"]) == pytest.approx((inverse["x"], inverse["u_x"]), abs=5.001e-4)
    for use in published.get("forward", []):
        assert function.value(use["x"]) == pytest.approx(use["y"], abs=5.001e-4)
        assert function.u_value(use["x"], use["u_x"]) == pytest.approx(use["u_y"], abs=5.001e-4)


@pytest.mark.parametrize("name", sorted(LINES))
def test_iso_ts_28037_coefficients_covariance_and_limit_of_chi_squared(name):
    example = LINES[name]
    function = fitted(example["x"], example["y"], u=example.get("u_y"))
    coefficients, covariance = function.powers_of_x()
    recomputed = example["recomputed"]
    assert coefficients == pytest.approx(recomputed["coefficients"], rel=1e-8)
    assert numpy.sqrt(numpy.diag(covariance)) == pytest.approx(recomputed["std_uncertainties"], rel=1e-8)
    assert covariance[0, 1] == pytest.approx(recomputed["covariances"]["01"], rel=1e-8)
    if "u_y" in example:
        assert function.chi_squared == pytest.approx(recomputed["chi2"], rel=1e-8)
        assert function.chi_squared_limit() == pytest.approx(example["published"]["chi2_crit_95"], abs=5.001e-4)


def test_gum_h3_thermometer_to_the_printed_digits():
    """JCGM 100:2008, H.3, table H.6 and H.3.3 to H.3.5 (source verified)."""
    published = H3["published"]
    x = [float(Decimal(str(t)) - H3["t0"]) for t in H3["t_degC"]]
    function = fitted([f"{value:.3f}" for value in x], H3["b_degC"])
    (y1, y2), covariance = function.powers_of_x()
    s1, s2 = numpy.sqrt(numpy.diag(covariance))
    assert (round(y1, 4), round(s1, 4)) == (published["y1"], published["s_y1"])
    assert (round(y2, 5), round(s2, 5)) == (published["y2"], published["s_y2"])
    assert round(covariance[0, 1] / s1 / s2, 3) == published["r"]
    assert [round(float(b), 4) for b in function.value(x)] == published["predicted"]
    assert round(float(function.value(30 - H3["t0"])), 4) == published["b_30"]
    assert round(float(function.u_value(30 - H3["t0"])), 4) == published["u_b_30"]
    assert function.degrees_of_freedom == published["dof"]
    # H.3.4: about the mean temperature the two parameters are independent
    assert round(float(function.value(numpy.mean(x))), 4) == published["y1_centred"]
    assert round(float(function.u_value(numpy.mean(x))), 4) == published["s_y1_centred"]
    # U95 = t_95(9) u, recomputed; t_95(9) = 2.262 (JCGM 100:2008, table G.2)
    assert round(function.coverage_factor(), 3) == 2.262
    assert function.coverage_factor() * function.u_value(10) == pytest.approx(H3["recomputed"]["U95_b_30"], rel=1e-8)


def test_the_inverse_of_the_pontius_curve_is_the_derived_one():
    """Loads computed from the certified coefficients of NIST StRD Pontius."""
    lines = (REFERENCE / "nist_strd" / "pontius.csv").read_text().split()[1:]
    y, x = zip(*(line.split(",") for line in lines), strict=True)
    function = fitted(x, y, 2)
    points = PONTIUS["inverse_from_certified_quadratic"]
    loads, _ = function.inverse([point["deflection"] for point in points])
    assert loads == pytest.approx([point["load"] for point in points], rel=1e-11)


SHARES = st.integers(-1000, 1000).map(lambda thousandths: thousandths / 1000)
CURVES = st.builds(
    lambda c0, c1, c2, c3: numpy.array([c0, c1, c2 * c1, c3 * c1]),
    st.floats(-1e6, 1e6),
    st.floats(1e-3, 1e6) | st.floats(-1e6, -1e-3),
    SHARES,
    SHARES,
)


def function_of_t(coefficients, centre=0.0, half=1.0) -> CalibrationFunction:
    size = coefficients.shape[-1]
    covariance = numpy.broadcast_to(numpy.eye(size), (*coefficients.shape, size))
    return CalibrationFunction(centre, half, coefficients, covariance, numpy.array(1.0), 5)


@given(CURVES)
def test_a_curve_turns_back_where_its_slope_changes_sign(coefficients):
    _, c1, c2, c3 = map(Fraction, coefficients)
    places = [Fraction(-REACH), Fraction(REACH)]
    if c3 and abs(c2 / (3 * c3)) < REACH:
        places.append(-c2 / (3 * c3))  # the slope's own extreme
    slopes = sorted((c1 + 2 * c2 * t + 3 * c3 * t * t) / c1 for t in places)
    if abs(slopes[0]) > 1e-9:  # not where rounding decides
        assert function_of_t(coefficients).turns_back() == (slopes[0] < 0 < slopes[-1])


@given(CURVES, st.floats(-1, 1), st.floats(-1e6, 1e6), st.floats(0.1, 1e6))
def test_the_inverse_comes_back_to_where_it_started_or_is_refused(coefficients, t, centre, half):
    function = function_of_t(coefficients, centre, half)
    x = centre + t * half
    if function.turns_back():
        with pytest.raises(InputError, match="turns back"):
            function.inverse(function.value(x))
    else:
        found, _ = function.inverse(function.value(x))
        rounding = 4e-16 * float(abs(coefficients).sum()) / abs(float(function.slope(found)))
        assert found == pytest.approx(x, abs=8 * (rounding + 2e-16 * (abs(centre) + half)))


def test_the_inverse_keeps_to_its_bracket_where_newton_alone_would_leave_it():
    function = function_of_t(numpy.array([0.0, 1.0, 0.0, 8.0]))  # the slope grows 37-fold towards the ends
    y = numpy.linspace(*function.value([-REACH, REACH]), 999)
    t, _ = function.inverse(y)
    assert function.value(t) == pytest.approx(y, abs=1e-14 * 16)


def test_an_indication_far_beyond_the_points_is_refused():
    function = function_of_t(numpy.array([0.0, 1.0]))
    assert function.inverse(REACH)[0] == REACH
    with pytest.raises(InputError, match="beyond the calibrated points"):
        function.inverse([0.0, 1.26])


def test_many_functions_at_once_answer_as_each_does_alone():
    random = numpy.random.default_rng(1)
    many = function_of_t(random.normal([5, 1, 0], [0.1, 0.01, 0.01], (7, 3)), 3.0, 2.0)
    each = [function_of_t(c, 3.0, 2.0) for c in many.coefficients]
    x, y = [1.5, 2.5, 4.0], [4.5, 5.5]
    assert many.value(x) == pytest.approx(numpy.array([one.value(x) for one in each]))
    assert many.value(2.5) == pytest.approx([float(one.value(2.5)) for one in each])
    assert many.u_value(x, 0.1) == pytest.approx(numpy.array([one.u_value(x, 0.1) for one in each]))
    for k in (0, 1):
        assert many.inverse(y, 0.2)[k] == pytest.approx(numpy.array([one.inverse(y, 0.2)[k] for one in each]))
        assert many.inverse(5.0)[k] == pytest.approx([float(one.inverse(5.0)[k]) for one in each])


def test_a_curve_without_a_degree_of_freedom_has_no_uncertainty():
    x = exact([0, 1, 2])
    with pytest.raises(InputError, match="3 points leave no degree of freedom"):
        calibration_function(fit_polynomial(x, exact([0, 2, 5]), 2), x)
