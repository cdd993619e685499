"""Electronics drift while they warm up, first order, and cool while they have no power."""

import math

import pytest

from virtual_scale.electronics import Electronics
from virtual_scale.random_numbers import RandomNumbers

NO_NOISE = RandomNumbers(1)


def drift_uv(electronics, time_s):
    return electronics.input_v(0.0, time_s, NO_NOISE) * 1e6


def test_electronics_are_perfect_unless_asked():
    assert Electronics().input_v(0.0123, 5.0, NO_NOISE) == 0.0123


def test_the_zero_nears_its_place_exponentially_from_cold():
    """At 0, 5, 15 and 30 min, where OIML R 76-1:2006 A.5.2 (from memory) looks at a scale that warms up."""
    electronics = Electronics(warm_up_zero_uv=8.0, warm_up_s=300.0)
    for minutes in (0, 5, 15, 30):
        assert drift_uv(electronics, 60.0 * minutes) == pytest.approx(8 * math.exp(-minutes / 5))


def test_a_cold_amplifier_amplifies_too_much():
    electronics = Electronics(warm_up_span=0.001, warm_up_s=300.0)
    assert electronics.input_v(0.01, 0.0, NO_NOISE) == pytest.approx(0.01001)
    assert electronics.input_v(0.01, 300.0, NO_NOISE) == pytest.approx(0.01 * (1 + 0.001 / math.e))


def test_without_power_they_cool():
    electronics = Electronics(warm_up_zero_uv=1.0, warm_up_s=300.0)
    electronics.set_power(False, 1e6)
    electronics.set_power(True, 1e6 + 600)
    assert drift_uv(electronics, 1e6 + 600) == pytest.approx(1 - math.exp(-2))
    electronics.set_power(False, 2e6)
    electronics.set_power(True, 3e6)
    assert drift_uv(electronics, 3e6) == pytest.approx(1)


def test_a_parameter_that_changes_makes_no_jump_in_warmth():
    electronics = Electronics(warm_up_zero_uv=1.0, warm_up_s=300.0)
    electronics.change(300.0, {"warm_up_s": 10.0})
    assert drift_uv(electronics, 300.0) == pytest.approx(1 / math.e)
    assert drift_uv(electronics, 310.0) == pytest.approx(1 / math.e**2)


def test_flicker_noise_is_added_in_proportion():
    quiet, loud = (Electronics(flicker_uv=uv) for uv in (0.5, 1.0))
    pairs = [
        [electronics.input_v(0.0, k / 10, random_numbers) for k in range(50)]
        for electronics, random_numbers in ((quiet, RandomNumbers(7)), (loud, RandomNumbers(7)))
    ]
    assert [2 * one for one in pairs[0]] == pytest.approx(pairs[1])
    assert len(set(pairs[0])) == 50


def test_what_is_no_parameter_is_refused():
    with pytest.raises(ValueError, match="an amplifier has no parameter colour"):
        Electronics(colour=1.0)
