"""A ringing platform swings with its frequency, dies away with its time constant, and adds up what strikes it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from virtual_scale.ringing import Ringing

BLOWS = st.tuples(st.floats(-100, 100), st.floats(0, 2))


def test_one_blow_swings_and_dies_away():
    ringing = Ringing()
    ringing.strike(10.0, 5.0, 4.0, 0.5)
    assert ringing.swing_g(5.0, 4.0, 0.5) == 10.0
    assert ringing.swing_g(5.125, 4.0, 0.5) == pytest.approx(-10 * math.exp(-0.25))  # half a period later
    assert ringing.swing_g(5.0625, 4.0, 0.5) == pytest.approx(0, abs=1e-9)
    assert ringing.swing_g(100.0, 4.0, 0.5) == pytest.approx(0)


@given(st.lists(BLOWS, min_size=1, max_size=6))
def test_blows_add_up(blows):
    """The equation of a damped spring is linear."""
    together, alone, time_s = Ringing(), [], 0.0
    for blow_g, wait_s in blows:
        together.strike(blow_g, time_s, 4.0, 0.5)
        alone.append(Ringing())
        alone[-1].strike(blow_g, time_s, 4.0, 0.5)
        time_s += wait_s
    swings_g = [one.swing_g(time_s, 4.0, 0.5) for one in alone]
    assert together.swing_g(time_s, 4.0, 0.5) == pytest.approx(sum(swings_g), abs=1e-6)
