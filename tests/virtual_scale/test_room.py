"""The cell follows the air of the room as a first-order lag; floor and air shake the pan if they are asked to."""

import math

import numpy as np
import pytest

from virtual_scale.random_numbers import RandomNumbers
from virtual_scale.room import Room


def test_the_cell_warms_itself_up_after_power_up():
    room = Room(air_c=20.0, warm_up_c=0.2, time_constant_s=600.0)
    assert room.cell_c(0) == 20.0
    assert room.cell_c(600) == pytest.approx(20.2 - 0.2 / math.e)
    assert room.cell_c(1e5) == pytest.approx(20.2)


def test_the_cell_follows_the_air_without_a_jump():
    room = Room(air_c=20.0, warm_up_c=0.0, time_constant_s=600.0)
    room.set_air(30.0, time_s=100.0)
    assert room.cell_c(100) == 20.0
    room.set_air(10.0, time_s=700.0)
    assert room.cell_c(700) == pytest.approx(30 - 10 / math.e)
    assert room.cell_c(1300) == pytest.approx(10 + (20 - 10 / math.e) / math.e)


def test_the_cell_cools_while_it_has_no_power():
    room = Room(air_c=20.0, warm_up_c=0.2, time_constant_s=600.0)
    room.set_power(False, 1e5)
    assert room.cell_c(1e5 + 600) == pytest.approx(20 + 0.2 / math.e)
    room.set_power(True, 2e5)
    assert room.cell_c(2e5) == pytest.approx(20)
    assert room.cell_c(3e5) == pytest.approx(20.2)


def test_a_step_of_the_temperature_can_be_as_fast_as_wanted():
    room = Room(warm_up_c=0.0)
    room.change(0.0, {"time_constant_s": 1.0})
    room.set_air(40.0, time_s=0.0)
    assert room.cell_c(5.0) == pytest.approx(40 - 20 * math.exp(-5))


def test_a_calm_room_does_not_shake_the_pan():
    random_numbers = RandomNumbers(1)
    before = random_numbers.state
    assert Room().shaking_g(3.21, random_numbers) == 0.0
    assert random_numbers.state == before


def test_a_floor_that_vibrates_shakes_the_pan_at_its_frequency():
    room = Room(vibration_g=3.0, vibration_hz=10.0)
    forces_g = [room.shaking_g(k / 80, RandomNumbers(1)) for k in range(80)]
    assert forces_g[2] == pytest.approx(3.0)  # a quarter of a period
    spectrum = np.abs(np.fft.rfft(forces_g)) / 40
    assert spectrum[10] == pytest.approx(3.0)
    assert np.delete(spectrum, 10).max() < 1e-9


def test_a_draught_is_as_strong_as_it_says_and_comes_in_gusts():
    """Standard deviation 2 g, correlation exp(-t / 1 s); 8000 values of 0.25 s hold some 1000 independent ones."""
    room, random_numbers = Room(draught_g=2.0, draught_s=1.0), RandomNumbers(2)
    forces_g = np.array([room.shaking_g(k / 4, random_numbers) for k in range(8000)])
    assert forces_g.std() == pytest.approx(2, rel=0.1)
    assert np.mean(forces_g[4:] * forces_g[:-4]) / 4 == pytest.approx(1 / math.e, abs=0.1)


@pytest.mark.parametrize("parameters", [{"colour": 1.0}, {"set_air": 1.0}, {"time_constant_s": 0.0}])
def test_a_room_that_cannot_be_is_refused(parameters):
    with pytest.raises(ValueError, match="room"):
        Room(**parameters)
