"""The terms of a soak against the equations that they state."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from scalewright.analysis.soak import block_means
from scalewright.analysis.soak_model import Model, columns
from tests.host.analysis.soaks import soak

PLAN = [(0.0, 600.0, 20.0), (2000.0, 900.0, 20.0), (500.0, 300.0, 20.0), (0.0, 900.0, 20.0)]
NETS = {0.0: 0.0, 500.0: 430_000.0, 2000.0: 1_720_000.0}


@pytest.mark.parametrize("constant_s", [12.0, 200.0, 5000.0])
def test_creep_follows_its_differential_equation_through_every_change_of_load(constant_s) -> None:
    """T dm/dt = net(t) - m, integrated by scipy's Radau, then averaged over each block."""
    blocks = block_means(soak(PLAN))
    column = columns(blocks, Model(0, 0, False, (constant_s,)), 20.0, NETS)["creep 1"]
    edges_s = np.array([dwell.start_s for dwell in blocks.dwells[1:]])
    nets = np.array([NETS[dwell.load_g] for dwell in blocks.dwells])

    def rate(t, m):
        return (nets[np.searchsorted(edges_s, t, side="right")] - m) / constant_s

    fine_s = np.arange(1.0, 2700.0, 0.25)
    solved = solve_ivp(rate, (0.0, 2700.0), [0.0], "Radau", fine_s, max_step=5.0, rtol=1e-8, atol=1e-3).y[0]
    for middle_s, half_s, value in list(zip(blocks.middle_s, blocks.half_s, column, strict=True))[::7]:
        inside = np.abs(fine_s - middle_s) <= half_s
        assert value == pytest.approx(solved[inside].mean(), abs=2e-3 * 1_720_000)


def test_the_columns_are_the_terms_of_the_model() -> None:
    blocks = block_means(soak([(0.0, 900.0, 20.0), (2000.0, 900.0, 30.0)]))
    named = columns(blocks, Model(2, 1, True, (), 400.0), 25.0, NETS)
    warmer, loaded = blocks.temperature_c - 25, blocks.dwell == 1
    assert list(named) == [
        *("level 0 g", "level 2000 g", "zero 1", "zero 2", "span 1", "zero rate", "span rate", "warm-up")
    ]
    assert named["level 2000 g"].tolist() == loaded.tolist()
    assert named["zero 2"] == pytest.approx(warmer**2)
    assert named["span 1"] == pytest.approx(warmer * loaded * NETS[2000.0])
    assert named["span rate"] == pytest.approx(blocks.rate_c_per_s * loaded * NETS[2000.0])
    assert named["warm-up"] == pytest.approx(np.exp(-blocks.middle_s / 400), rel=1e-3)


def test_time_constants_are_named_and_replaced_in_order() -> None:
    model = Model(1, 1, True, (10.0, 300.0), 900.0)
    assert model.time_constants_s == (10.0, 300.0, 900.0)
    assert model.transients == ["creep 1", "creep 2", "warm-up"]
    changed = model.with_time_constants((1.0, 2.0, 3.0))
    assert (changed.creep_s, changed.warm_up_s) == ((1.0, 2.0), 3.0)
    assert model.without("creep 1") == Model(1, 1, True, (300.0,), 900.0)
    assert model.without("warm-up") == Model(1, 1, True, (10.0, 300.0))
    assert model.with_degree("zero", 2).zero_degree == 2 and model.with_degree("span", 2).degree("span") == 2
