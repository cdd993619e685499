"""Parameters are set all or none, and only where the part has them and can bear the value."""

import math

import pytest

from virtual_scale.parameters import set_parameters


class Bell:
    KIND = "a bell"
    pitch_hz = 440.0
    decay_s = 2.0

    def ring(self):
        return self.pitch_hz


def test_parameters_are_set_on_the_part_alone():
    bell = Bell()
    set_parameters(bell, {"pitch_hz": 220, "decay_s": 1.0})
    assert (bell.pitch_hz, bell.decay_s, Bell.pitch_hz) == (220.0, 1.0, 440.0)


@pytest.mark.parametrize(
    ("parameters", "complaint"),
    [
        ({"colour": 1.0}, "a bell has no parameter colour=1.0"),
        ({"ring": 1.0}, "a bell has no parameter ring"),
        ({"KIND": 1.0}, "a bell has no parameter KIND"),
        ({"decay_s": 0.0}, "a bell with decay_s=0.0: expected more than 0"),
        ({"decay_s": -1.0}, "expected more than 0"),
        ({"decay_s": math.inf}, "expected more than 0"),
        ({"pitch_hz": math.nan}, "a bell with pitch_hz=nan: expected a number"),
        ({"pitch_hz": 1e300}, "expected a number"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(parameters, complaint):
    bell = Bell()
    with pytest.raises(ValueError, match=complaint):
        set_parameters(bell, {"pitch_hz": 330.0, **parameters})
    assert bell.__dict__ == {}
