"""The law of propagation against JCGM 100, JCGM 101, GUM-6 and two general libraries."""

import json
from dataclasses import replace
from math import hypot, sqrt

import numpy
import pytest

from scalewright.analysis.budget import Budget, Component, coverage_factor, from_limits
from scalewright.analysis.propagation import evaluate, numerical_jacobian, propagate, second_order_variance
from tests.host.analysis.crosscheck import library
from tests.host.reference_tables import REFERENCE_DATA

PUBLISHED = json.loads((REFERENCE_DATA / "gum_budgets.json").read_text(encoding="utf-8"))
MASS_CALIBRATION = json.loads((REFERENCE_DATA / "jcgm101_mass_calibration.json").read_text(encoding="utf-8"))


def impedance(x):
    """JCGM 100:2008, H.2: resistance, reactance and impedance of amplitude V, current I and phase phi."""
    voltage, current, phase = x
    ratio = voltage / current
    return numpy.stack([ratio * numpy.cos(phase), ratio * numpy.sin(phase), ratio])


def impedance_inputs():
    h2 = PUBLISHED["gum_h2_correlated"]
    readings = numpy.array([h2["V"], numpy.array(h2["I_mA"]) / 1000, h2["phi_rad"]])
    return readings.mean(axis=1), numpy.cov(readings) / readings.shape[1], h2


def test_three_results_from_inputs_read_together():
    """JCGM 100:2008, H.2, tables H.2 and H.3."""
    x, covariance, h2 = impedance_inputs()
    found = propagate(impedance, x, covariance)
    for k, name in enumerate("RXZ"):
        assert found.values[k] == pytest.approx(h2["recomputed"][name], rel=1e-11)
        assert found.u[k] == pytest.approx(h2["recomputed"][f"u_{name}"], rel=1e-10)
        assert found.u[k] == pytest.approx(h2["published"][f"u_{name}"], abs=0.0011)
    for i, j in ((0, 1), (0, 2), (1, 2)):
        assert found.correlation[i, j] == pytest.approx(h2["recomputed"][f"r_{'RXZ'[i]}{'RXZ'[j]}"], rel=1e-9)
    ignoring = propagate(impedance, x, numpy.diag(covariance.diagonal())).u
    assert ignoring == pytest.approx(list(h2["published"]["u_if_correlation_ignored"].values()), abs=5e-4)


def test_gtc_and_uncertainties_find_the_same_three():
    gtc, uncertainties = library("GTC"), library("uncertainties")
    x, covariance, _ = impedance_inputs()
    u = numpy.sqrt(covariance.diagonal())
    ours = propagate(impedance, x, covariance)
    v, i, phase = gtc.multiple_ureal(x.tolist(), u.tolist(), 4)
    for (a, one), (b, other) in (((0, v), (1, i)), ((0, v), (2, phase)), ((1, i), (2, phase))):
        gtc.set_correlation(covariance[a, b] / u[a] / u[b], one, other)
    results = (v / i * gtc.cos(phase), v / i * gtc.sin(phase), v / i)
    assert ours.u == pytest.approx([result.u for result in results], rel=1e-9)
    v, i, phase = uncertainties.correlated_values(x, covariance)
    umath = library("uncertainties.umath")
    results = (v / i * umath.cos(phase), v / i * umath.sin(phase), v / i)
    assert ours.u == pytest.approx([result.s for result in results], rel=1e-8)
    assert ours.covariance == pytest.approx(numpy.array(uncertainties.covariance_matrix(results)), rel=1e-7)


def test_the_ratio_of_two_fitted_parameters_needs_their_covariance():
    """JCGM GUM-6:2020, 8.1: w = 96.4, u = 1.2, and 0.9 if the covariance were dropped."""
    example = PUBLISHED["gum6_ratio_of_fit_parameters"]
    given, expected = example["recomputed"], example["recomputed"]
    x = [given["a"], given["b"]]
    covariance = numpy.array([[given["u_a"] ** 2, given["cov"]], [given["cov"], given["u_b"] ** 2]])
    found = propagate(lambda x: x[0] / x[1], x, covariance)
    assert float(found.values) == pytest.approx(expected["w"], rel=1e-9)
    assert float(found.u) == pytest.approx(expected["u_w"], rel=1e-9)
    ignoring = propagate(lambda x: x[0] / x[1], x, numpy.diag(covariance.diagonal()))
    assert float(ignoring.u) == pytest.approx(expected["u_w_ignoring_correlation"], rel=1e-9)


def end_gauge(x):
    """JCGM 100:2008, H.1: length at 20 °C, in nm, by comparison with a standard."""
    standard, difference, expansion, of_expansion, temperature, of_temperature = x
    return standard + difference - standard * (of_expansion * temperature + expansion * of_temperature)


def end_gauge_inputs():
    given = PUBLISHED["gum_h1_end_gauge"]["inputs_nm"]
    parts = (("dbar", "A"), ("d1", "B"), ("d2", "B"))
    difference = Budget(215, tuple(Component(n, given[f"u_{n}"], e, "t", given[f"nu_{n}"]) for n, e in parts))
    return difference, (
        Component("standard", given["u_ls"], degrees_of_freedom=given["nu_ls"], estimate=50_000_623),
        Component("difference", difference.u, degrees_of_freedom=difference.degrees_of_freedom, estimate=215),
        from_limits("expansion", 2e-6, estimate=11.5e-6),
        replace(from_limits("of expansion", 1e-6), degrees_of_freedom=given["nu_dalpha"]),
        Component("temperature", 0.41, estimate=-0.1),
        replace(from_limits("of temperature", 0.05), degrees_of_freedom=given["nu_dtheta"]),
    )


def test_the_end_gauge_of_the_guide():
    """JCGM 100:2008, H.1.6 and H.1.7: u_c = 32 nm, nu_eff = 16.7 cut to 16, t_99 = 2.92, U_99 = 93 nm; u_c = 34 nm with
    the terms of second order, l_S u(of alpha) u(theta) and l_S u(alpha) u(of theta). Unrounded figures: recomputed."""
    expected = PUBLISHED["gum_h1_end_gauge"]["recomputed_unrounded"]
    difference, inputs = end_gauge_inputs()
    assert difference.u == pytest.approx(expected["u_d"], rel=1e-11)
    assert difference.degrees_of_freedom == pytest.approx(expected["nu_eff_d"], rel=1e-11)
    first, second = (evaluate(end_gauge, inputs, second_order=order) for order in (False, True))
    assert first.estimate == 50_000_838
    # Rounding: a length of 5e7 nm is a double to 7e-9 nm, and differences of a few nm are taken of it.
    assert first.u == pytest.approx(expected["u_c"], rel=1e-9)
    assert first.degrees_of_freedom == pytest.approx(expected["nu_eff"], rel=1e-8)
    factor = coverage_factor(first.degrees_of_freedom, 0.99)
    assert factor == pytest.approx(expected["t99_16"], rel=1e-10)
    assert (round(factor, 2), round(factor * 32)) == (2.92, 93)
    of_second_order = [50_000_623 * inputs[i].u * inputs[j].u for i, j in ((3, 4), (2, 5))]
    assert sqrt(second.second_order_variance) == pytest.approx(hypot(*of_second_order), rel=1e-4)
    assert round(second.u) == 34


def test_gtc_finds_the_same_end_gauge():
    gtc = library("GTC")
    _, inputs = end_gauge_inputs()
    budget = evaluate(end_gauge, inputs)
    result = end_gauge([gtc.ureal(i.estimate, i.u, i.degrees_of_freedom) for i in inputs])
    assert budget.estimate == pytest.approx(result.x, rel=1e-15)
    assert budget.u == pytest.approx(result.u, rel=1e-9)
    assert budget.degrees_of_freedom == pytest.approx(result.df, rel=1e-8)


def mass_difference(x):
    """JCGM 101:2008, 9.3.1.3: deviation of a weight of nominal 100 g, in mg."""
    reference, added, air, density_w, density_r = x
    return (reference + added) * (1 + (air - 1.2) * (1 / density_w - 1 / density_r)) - 100_000


MASS_INPUTS = (
    Component("m_Rc", 0.05, estimate=100_000.0),
    Component("dm_Rc", 0.02, estimate=1.234),
    from_limits("rho_a", 0.1, estimate=1.2),
    from_limits("rho_W", 1000, estimate=8000),
    from_limits("rho_R", 50, estimate=8000),
)


def test_air_of_exactly_conventional_density_hides_buoyancy_from_the_first_order():
    """JCGM 101:2008, 9.3.2, table 7: u = 0.0539 mg to first order, 0.0750 mg with the terms of second order."""
    expected = MASS_CALIBRATION["recomputed"]
    first, second = (evaluate(mass_difference, MASS_INPUTS, second_order=order) for order in (False, True))
    assert first.estimate == pytest.approx(1.234, abs=1e-9)
    assert first.u == pytest.approx(expected["u_first_order"], rel=1e-9)
    assert second.u == pytest.approx(expected["u_second_order"], rel=5e-6)
    assert (round(first.u, 4), round(second.u, 3)) == (0.0539, 0.075)
    for budget, name in ((first, "GUF1"), (second, "GUF2")):
        low, high = (budget.estimate + side * 1.959964 * budget.u for side in (-1, 1))
        assert [low, high] == pytest.approx(expected[f"{name}_interval"], abs=1e-6)


def test_terms_of_second_order_of_a_square_and_a_product():
    """Closed forms for normal inputs: var(x**2) = 4 x**2 u**2 + 2 u**4; of a product, u1**2 u2**2 is added."""
    x, u = numpy.array([3.0, -2.0]), numpy.array([0.1, 0.3])
    assert second_order_variance(lambda x: x[0] ** 2, x, u) == pytest.approx(2 * 0.1**4, rel=1e-9)
    assert second_order_variance(lambda x: x[0] * x[1], x, u) == pytest.approx(0.1**2 * 0.3**2, rel=1e-6)
    # x**3: var = 9 x**4 u**2 + 36 x**2 u**4 + 15 u**6; the note's terms are those of u**4
    assert second_order_variance(lambda x: x[0] ** 3, x, u) == pytest.approx(36 * 9 * 0.1**4, rel=1e-6)


def test_a_numerical_jacobian_is_that_of_calculus():
    x, u = numpy.array([5.0, 0.02, 1.04]), numpy.array([0.003, 1e-5, 8e-4])
    v, i, phase = x
    by_hand = numpy.array(
        [
            [numpy.cos(phase) / i, -v * numpy.cos(phase) / i**2, -v / i * numpy.sin(phase)],
            [numpy.sin(phase) / i, -v * numpy.sin(phase) / i**2, v / i * numpy.cos(phase)],
            [1 / i, -v / i**2, 0],
        ]
    )
    numerical = numerical_jacobian(impedance, x, u)
    assert numerical == pytest.approx(by_hand, rel=1e-9, abs=1e-7)
    assert propagate(impedance, x, numpy.diag(u**2), by_hand).u == pytest.approx(
        propagate(impedance, x, numpy.diag(u**2)).u, rel=1e-9
    )


def test_an_input_known_exactly_still_has_a_sensitivity():
    budget = evaluate(lambda x: x[0] * x[1], (Component("a", 0.0, estimate=0.0), Component("b", 0.1, estimate=3.0)))
    assert [c.sensitivity for c in budget.components] == pytest.approx([3.0, 0.0])


def test_a_budget_from_a_model_knows_correlation():
    inputs = (Component("a", 0.3, estimate=2.0), Component("b", 0.4, estimate=5.0))
    budget = evaluate(lambda x: x[0] - x[1], inputs, {("a", "b"): 0.5})
    assert budget.u == pytest.approx(sqrt(0.09 + 0.16 - 0.12))
