"""Errors of indication with their budgets, against a constructed example and closed forms of EURAMET cg-18."""

import json
from math import sqrt

import pytest

from scalewright.analysis.air import AirDensity
from scalewright.analysis.budget import Component
from scalewright.analysis.buoyancy import Material
from scalewright.analysis.error_of_indication import (
    AdjustedBefore,
    AppliedLoad,
    Corrected,
    NotAdjusted,
    Repeatability,
    RoomTemperatureKnown,
    ScaleUnderTest,
    Weight,
    eccentricity,
    error_of_indication,
    relative_u_of_air,
)
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library
from tests.host.reference_tables import REFERENCE_DATA

CONSTRUCTED = json.loads((REFERENCE_DATA / "euramet_cg18_constructed.json").read_text(encoding="utf-8"))
INPUTS, RESULTS = CONSTRUCTED["inputs"], CONSTRUCTED["results"]
NAMES = {
    "division at zero": "dig0",
    "division under load": "digL",
    "repeatability": "rep",
    "eccentricity": "ecc",
    "reference weights": "dmc",
    "air buoyancy": "dmB",
    "drift of the weights": "dmD",
    "convection at the weights": "conv",
}


def constructed_scale():
    pan = INPUTS["eccentricity_g"]
    return ScaleUnderTest(
        INPUTS["d_g"],
        Repeatability.of(INPUTS["repeatability_g"]),
        eccentricity(pan["load"], pan["centre"], [pan[corner] for corner in ("fl", "fr", "bl", "br")]),
        AdjustedBefore(),
    )


def constructed_points():
    scale = constructed_scale()
    for point in INPUTS["points"]:
        weights = (
            [Weight(point["m_N"], point["mpe"], point["dm_c"], point["U_c"], 2, point["D"])] if point["m_N"] else []
        )
        yield error_of_indication(scale, AppliedLoad(weights, point["I"]))


def printed(value):
    """Equal to the digits that the file holds: 1e-8, or half of its last one where it holds fewer."""
    digits = len(str(value).replace(".", "").lstrip("0"))
    return pytest.approx(value, rel=max(1e-8, 0.51 * 10.0 ** (1 - digits)), abs=1e-12)


def test_the_scale_of_the_constructed_example():
    scale = constructed_scale()
    assert scale.repeatability.s_g == printed(RESULTS["s_g"])
    assert scale.repeatability.degrees_of_freedom == RESULTS["dof"]
    assert scale.u_relative_eccentricity == printed(RESULTS["u_rel_ecc"])


@pytest.mark.parametrize("k", range(5))
def test_the_points_of_the_constructed_example(k):
    """Our own example, worked out once with the formulas of cg-18 v4.0, 7.1; not a table of the guide."""
    point, expected = list(constructed_points())[k], RESULTS["points"][k]
    assert point.reference_mass_g == pytest.approx(expected["m_ref"], abs=1e-9)
    assert point.error_g == pytest.approx(expected["E"], abs=1e-9)
    for component in point.budget.components:
        assert component.u == printed(expected["u_components"][NAMES[component.name]]), component.name
    assert point.u_indication_g == printed(expected["u_I"])
    assert point.u_reference_mass_g == printed(expected["u_mref"])
    assert point.u_error_g == printed(expected["u_E"])
    assert 2 * point.u_error_g == printed(expected["U_E_k2"])
    assert point.budget.degrees_of_freedom == printed(expected["nu_eff"])
    assert point.budget.coverage_factor == printed(expected["k_floor_nu"])
    assert point.budget.expanded_u == printed(expected["U_E_kt"])


def test_gtc_finds_the_same_budget():
    gtc = library("GTC")
    for point in constructed_points():
        inputs = [(gtc.ureal(0, c.u, c.degrees_of_freedom), c.sensitivity) for c in point.budget.components]
        error = point.error_g + sum(c * x for x, c in inputs)
        assert point.u_error_g == pytest.approx(error.u, rel=1e-13)
        assert point.budget.degrees_of_freedom == pytest.approx(error.df, rel=1e-12)
        theirs = gtc.reporting.k_factor(int(error.df), 95.449974)
        assert point.budget.coverage_factor == pytest.approx(theirs, rel=1e-6)


KILOGRAM = Weight(1000, 0.05)


@pytest.mark.parametrize(
    ("buoyancy", "u_g"),
    [
        (AdjustedBefore(), 0.05 / (4 * sqrt(3))),
        (NotAdjusted(), (0.1 * 1.2 / 8000 * 1000 + 0.05 / 4) / sqrt(3)),
        (RoomTemperatureKnown(5), 1.776e-3 + 0.05 / (4 * sqrt(3))),  # 1.776e-6 relative, to four digits
    ],
)
def test_air_that_is_not_corrected_for(buoyancy, u_g):
    """EURAMET cg-18 v4.0, 7.1.2 (from memory); numbers computed in references of our own."""
    assert buoyancy.u_g(KILOGRAM) == pytest.approx(u_g, abs=5e-7)
    assert buoyancy.correction_g(KILOGRAM) == 0


def test_the_two_common_relative_effects_of_air():
    assert NotAdjusted().u_g(Weight(1000, 0.0)) == pytest.approx(0.0087, abs=5e-5)  # 8.66e-6 of it
    assert relative_u_of_air(5) == pytest.approx(1.776e-6, abs=5e-10)


def test_air_that_is_corrected_for():
    """cg-18 v4.0, eq. for dm_B (from memory): -m_N ((rho_a - 1.2)(1/rho - 1/8000) + (rho_a - rho_as)/8000)."""
    now, then, steel = AirDensity("now", 1.15, 0.002), AirDensity("then", 1.22, 0.003), Material("weights", 7950, 70)
    correction_g = Corrected(now, then, steel).correction_g(KILOGRAM)
    by_formula = -1000 * ((1.15 - 1.2) * (1 / 7950 - 1 / 8000) + (1.15 - 1.22) / 8000)
    assert correction_g == pytest.approx(by_formula, rel=3e-3)  # which has 8000 for the weights of the adjustment
    as_conventional = Corrected(now, then, Material("weights", 8000)).correction_g(KILOGRAM)
    assert as_conventional == pytest.approx(-1000 * (1.15 - 1.22) / 8000, rel=3e-4)
    # Sensitivities of that formula to either air: -m_N / rho and m_N / 8000; density hardly matters.
    u_g = Corrected(now, then, Material("weights", 7950)).u_g(KILOGRAM)
    assert u_g == pytest.approx(1000 * sqrt((0.002 / 7950) ** 2 + (0.003 / 8000) ** 2), rel=1e-2)
    same = Corrected(now, now, steel)
    assert abs(same.correction_g(KILOGRAM)) < 5e-5
    assert same.u_g(KILOGRAM) < 1e-4  # what air does now it did at adjustment: it cancels


def test_a_corrected_mass_enters_the_error():
    scale = ScaleUnderTest(
        0.1, Repeatability(0.05, 9), 0.0, Corrected(AirDensity("now", 1.1, 0.002), AirDensity("then", 1.2, 0.002))
    )
    point = error_of_indication(scale, AppliedLoad([KILOGRAM], 1000.0))
    assert point.error_g == pytest.approx(-0.1 / 7950 * 1000, rel=3e-4)


def test_the_uncertainties_of_weights_that_stand_together_add_up():
    one = error_of_indication(constructed_scale(), AppliedLoad([Weight(500, 0.025, 0.01, 0.008, 2, 0.01, 0.003)], 500))
    two = [Weight(500, 0.025, 0.01, 0.008, 2, 0.01, 0.003)] * 2
    both = error_of_indication(constructed_scale(), AppliedLoad(two, 1000))
    assert both.u_reference_mass_g == pytest.approx(2 * one.u_reference_mass_g)
    assert both.reference_mass_g == pytest.approx(2 * one.reference_mass_g)
    nominal = error_of_indication(constructed_scale(), AppliedLoad([Weight(500, 0.025)], 500))
    assert nominal.budget.components[4] == Component(
        "reference weights", 0.025 / sqrt(3), "B", "rectangular", sensitivity=-1.0
    )


def test_a_mean_of_placings_scatters_less_and_changeover_points_resolve_more():
    scale = constructed_scale()
    single, mean = (error_of_indication(scale, AppliedLoad([], 0.0, n)).budget.components[2] for n in (1, 4))
    assert mean.u == pytest.approx(single.u / 2)
    fine = error_of_indication(scale, AppliedLoad([], 0.0, division_g=0.01)).budget.components
    assert (fine[1].u, fine[0].u) == pytest.approx((0.01 / sqrt(12), 0.1 / sqrt(12)))
    finer_zero = ScaleUnderTest(0.1, scale.repeatability, 0.0, AdjustedBefore(), 0.02)
    assert finer_zero.u_zero_g == pytest.approx(0.02 / sqrt(12))


def test_a_load_built_up_by_substitution():
    """cg-18 v4.0, 4.3.3 and 7.1.2 (from memory): u2(L_T,n) = n**2 u2(m_ref) + 2 sum of u2(I_j)."""
    weight = Weight(500, 0.0, 0.0, 0.008)
    load = AppliedLoad([weight] * 3, 1500.4, ballast_g=0.3, u_substituted_indications_g=(0.06, 0.07))
    point = error_of_indication(constructed_scale(), load)
    assert point.reference_mass_g == pytest.approx(1500.3)
    assert point.error_g == pytest.approx(0.1)
    assert point.u_reference_mass_g == pytest.approx(sqrt((3 * 0.004) ** 2 + 2 * (0.06**2 + 0.07**2)))


def test_a_pooled_scatter_weighs_each_series_by_its_degrees_of_freedom():
    """JCGM 100:2008, H.3.6, note: s_p**2 = sum nu s**2 / sum nu."""
    pooled = Repeatability.of([1.0, 2.0, 3.0], [1.0, 1.0, 2.0, 2.0 + 2 / 3])
    series = [1.0, 1.0, 2.0, 2.0 + 2 / 3]
    squares = sum((x - sum(series) / 4) ** 2 for x in series)
    assert pooled.s_g == pytest.approx(sqrt((2 + squares) / 5))
    assert pooled.degrees_of_freedom == 5
    with pytest.raises(InputError, match="fewer than 2"):
        Repeatability.of([1.0])


def test_a_point_is_one_json_object():
    point = json.loads(json.dumps(list(constructed_points())[1].as_json()))
    assert point["error_g"] == pytest.approx(0.096)
    assert point["budget"]["u_g"] == point["u_error_g"]
    assert len(point["budget"]["components"]) == 8
