"""Conventional mass and air buoyancy. Tables computed by OIML R 111-1:2004 and JCGM 101:2008, 9.3."""

import json
from dataclasses import replace
from math import hypot, prod, sqrt

import pytest

from scalewright.analysis.air import AirDensity
from scalewright.analysis.buoyancy import (
    Material,
    adjustment_air,
    compare,
    conventional_mass,
    conventional_to_mass,
    present_air,
    true_mass,
)
from scalewright.analysis.correction import combined
from tests.host.reference_tables import REFERENCE_DATA

CONVENTIONAL_AIR = AirDensity("conventional", 1.2, 0.0)
R_111_WEIGHTS = Material("weights", 8000)
WATER = Material("load", 998.2)


def corrections(load, air, air_at_adjustment, weights=R_111_WEIGHTS):
    return adjustment_air(air_at_adjustment, weights), present_air(air, load), conventional_to_mass(load)


@pytest.mark.parametrize(
    ("density", "factor"),
    [
        (500, 1.002255413),
        (800, 1.001352028),
        (998.2, 1.001053430),
        (1000, 1.001051262),
        (2700, 1.000294575),
        (7200, 1.000016669),
        (7950, 1.000000944),
        (8400, 0.999992856),
        (19300, 0.999912171),
    ],
)
def test_reading_to_mass_under_conventional_conditions(density, factor):
    """(1 - 1.2/8000) / (1 - 1.2/rho)."""
    lines = corrections(Material("load", density), CONVENTIONAL_AIR, CONVENTIONAL_AIR)
    assert combined(lines)[0] == pytest.approx(factor, abs=6e-10)
    assert [line.factor for line in lines[:2]] == [1, 1]


@pytest.mark.parametrize(
    ("air", "adjusted_in_1_2", "adjusted_in_the_same"),
    [(1.1, 1.00095303, 1.00096555), (1.0, 1.00085266, 1.00087768), (0.9, 1.00075230, 1.00078984)],
)
def test_water_weighed_in_other_air(air, adjusted_in_1_2, adjusted_in_the_same):
    """(1 - rho_a(adjustment)/8000) / (1 - rho_a/998.2)."""
    now = AirDensity("here", air, 0.0)
    assert combined(corrections(WATER, now, CONVENTIONAL_AIR))[0] == pytest.approx(adjusted_in_1_2, abs=6e-9)
    assert combined(corrections(WATER, now, now))[0] == pytest.approx(adjusted_in_the_same, abs=6e-9)


@pytest.mark.parametrize(
    ("density", "conventional"),
    [(7950, 0.9999990564622), (2700, 0.9997055113823), (8400, 1.0000071439287)],
)
def test_conventional_mass_of_a_kilogram(density, conventional):
    assert conventional_mass(1.0, density) == pytest.approx(conventional, abs=6e-14)
    assert true_mass(conventional_mass(1.0, density), density) == pytest.approx(1.0, abs=1e-15)


def test_each_line_can_be_left_out():
    lines = corrections(WATER, AirDensity("here", 1.1, 0.01), AirDensity("there", 1.15, 0.01))
    for k in range(3):
        kept = [replace(line, applied=n != k) for n, line in enumerate(lines)]
        assert combined(kept)[0] == pytest.approx(prod(line.factor for n, line in enumerate(lines) if n != k))


def test_a_reference_mass_is_read_wrong_as_euramet_cg_18_says():
    """dm_B / m_N = -[(rho_a - 1.2)(1/rho - 1/8000) + (rho_a - rho_as)/8000], to first order (7.1.2, from memory)."""
    for density, now, at_adjustment in ((7950, 1.1, 1.2), (2700, 1.05, 1.18), (1000, 0.9, 0.9), (8400, 1.2, 1.0)):
        lines = corrections(Material("load", density), AirDensity("", now, 0), AirDensity("", at_adjustment, 0))
        read = 1 / combined(lines[:2])[0] - 1
        first_order = -((now - 1.2) * (1 / density - 1 / 8000) + (now - at_adjustment) / 8000)
        assert read == pytest.approx(first_order, rel=2e-3, abs=1e-9)


def test_uncertainty_is_the_change_with_each_input():
    """Against central differences of the whole product, inputs one by one; air known once moves both its lines."""
    inputs = {"now": 1.10, "then": 1.16, "load": 950.0, "weights": 7950.0}
    u = {"now": 0.01, "then": 0.02, "load": 30.0, "weights": 70.0}

    def lines(values, u=(0, 0, 0, 0), same_air=False):
        then = AirDensity("then", values["then"], u[1])
        now = then if same_air else AirDensity("now", values["now"], u[0])
        return corrections(
            Material("load", values["load"], u[2]), now, then, Material("weights", values["weights"], u[3])
        )

    def change(name, same_air):
        step = inputs[name] * 1e-5
        up, down = (combined(lines(inputs | {name: inputs[name] + s}, same_air=same_air))[0] for s in (step, -step))
        return (up - down) / (2 * step) * u[name]

    for same_air in (False, True):
        names = [name for name in inputs if not (same_air and name == "now")]
        factor, u_relative = combined(lines(inputs, tuple(u.values()), same_air))
        expected = hypot(*(change(name, same_air) for name in names)) / factor
        assert u_relative == pytest.approx(expected, rel=1e-6)


def test_weighing_aluminium_against_steel_in_thin_air():
    """(1.1 - 1.2)(1/2700 - 1/8000) = -24.537 mg/kg."""
    found = compare(1e6, 0, 0, 0, AirDensity("here", 1.1, 0), Material("test", 2700), Material("reference", 8000))
    assert found.conventional_mass - 1e6 == pytest.approx(-24.537, abs=5e-4)


def test_the_mass_calibration_of_jcgm_101():
    """JCGM 101:2008, 9.3, tables 5 to 7, rows GUF1 and GUF2; verified. Uniform inputs: half-width over sqrt 3."""
    example = json.loads((REFERENCE_DATA / "jcgm101_mass_calibration.json").read_text(encoding="utf-8"))
    inputs, published, exact = example["inputs"], example["published"], example["recomputed"]
    normal = [inputs[name][part] for name in ("m_Rc_mg", "dm_Rc_mg") for part in ("mean", "sd")]
    air, test, reference = (
        (inputs[name]["mean"], inputs[name]["half"] / sqrt(3)) for name in ("rho_a", "rho_W", "rho_R")
    )
    found = compare(*normal, AirDensity("here", *air), Material("test", *test), Material("reference", *reference))
    deviation = found.conventional_mass - example["m_nom_mg"]
    assert f"{deviation:.4f}" == f"{published['GUF1']['dm']:.4f}"
    assert f"{found.u_first_order:.4f}" == f"{published['GUF1']['u']:.4f}"
    assert f"{found.u:.4f}" == f"{published['GUF2']['u']:.4f}"
    assert found.u_first_order == pytest.approx(exact["u_first_order"], rel=1e-11)
    assert found.u == pytest.approx(exact["u_second_order"], rel=1e-11)
    for u, row in ((found.u_first_order, "GUF1"), (found.u, "GUF2")):
        interval = [deviation - 1.959964 * u, deviation + 1.959964 * u]
        digits = 4 if row == "GUF1" else 3
        assert [round(end, digits) for end in interval] == published[row]["interval95"]
        assert interval == pytest.approx(exact[f"{row}_interval"], abs=6e-8)
