"""The sensor on the cell: late by a first-order lag, in steps of 1/16 C."""

import math

import pytest

from virtual_scale.room import Room
from virtual_scale.thermometer import Thermometer


class Time:
    """Seconds that pass when a test says so."""

    def __init__(self):
        self.now_s = 0.0

    def __call__(self):
        return self.now_s


def test_at_rest_it_shows_the_cell_in_sixteenths():
    thermometer = Thermometer(Time(), lambda time_s: 20.1)
    assert thermometer.read() == 322  # 20.125 C is the nearest
    assert Thermometer(Time(), lambda time_s: -10.125).read() == -162  # data sheet of the DS18B20: FF5E


@pytest.mark.parametrize("reads", [1, 7, 600])
def test_it_follows_the_cell_late(reads):
    """A lag of T behind a ramp of r C/s ends r T below it; approached as exp(-t/T)."""
    time = Time()
    thermometer = Thermometer(time, lambda time_s: 20 + 0.05 * time_s, lag_s=20.0)
    for k in range(reads):
        time.now_s = 60.0 * (k + 1) / reads
        read = thermometer.read()
    assert read / 16 == pytest.approx(20 + 3 - 0.05 * 20 * (1 - math.exp(-3)), abs=1 / 32)


def test_it_follows_a_room_whose_air_changes():
    """Two lags in a row, 600 s and 20 s: the step response of the pair, from any table of Laplace transforms."""
    time = Time()
    room = Room(warm_up_c=0.0)
    thermometer = Thermometer(time, room.cell_c)
    room.set_air(40.0, 0.0)
    for k in range(1, 1201):
        time.now_s = 0.5 * k
        read = thermometer.read()
    expected = 40 - 20 * (600 * math.exp(-600 / 600) - 20 * math.exp(-600 / 20)) / (600 - 20)
    assert read / 16 == pytest.approx(expected, abs=1 / 16)


def test_a_lost_sensor_gives_nothing_and_comes_back():
    time = Time()
    thermometer = Thermometer(time, lambda time_s: 20.0)
    thermometer.is_connected = False
    assert thermometer.read() is None
    thermometer.is_connected = True
    assert thermometer.read() == 320
