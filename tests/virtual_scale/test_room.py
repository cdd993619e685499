"""The cell follows the air of the room as a first-order lag."""

import math

import pytest

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


@pytest.mark.parametrize("parameters", [{"colour": 1.0}, {"set_air": 1.0}, {"time_constant_s": 0.0}])
def test_a_room_that_cannot_be_is_refused(parameters):
    with pytest.raises(ValueError, match="room"):
        Room(**parameters)
