"""A scale out of level: physics of an inclined plane, limits of OIML R 76."""

from math import sqrt

import pytest

from scalewright.procedures.requests import PlaceLoad, TiltScale
from scalewright.procedures.tilt import LEVEL, TiltTest
from tests.host.procedures.faulty_scale import FaultyScale, World, run_of
from tests.host.procedures.virtual_bench import failing, loads

LOADS = loads(1500, 3000)


def cosine(world: World) -> float:
    """Along the plumb line of the scale only cos(angle) of the weight is left."""
    slope = max(abs(world.x_per_mille), abs(world.y_per_mille)) / 1000
    return world.load_g * (1 / sqrt(1 + slope * slope) - 1)


def test_nothing_stands_on_the_scale_while_it_is_tilted() -> None:
    on_g, tilts = 0, []
    for request, _ in run_of(TiltTest(LOADS)).answered:
        if isinstance(request, PlaceLoad):
            on_g = request.load_g
        if isinstance(request, TiltScale):
            assert on_g == 0
            tilts.append((request.x_per_mille, request.y_per_mille))
    # OIML R 76-1:2006, 3.9.1.1 (from memory): 50/1000 lengthwise and transverse
    assert tilts == [(0, 0), (0, 50), (0, -50), (50, 0), (-50, 0), (0, 0)]


def test_the_cosine_alone_takes_more_at_50_per_mille_than_3000_divisions_allow() -> None:
    run = run_of(TiltTest(LOADS), scale=FaultyScale(cosine))
    # 1/sqrt(1 + 0.05**2) - 1 = -0.1248 %: 1.87 g of 1500 g, limit 1 g; 3.74 g of 3000 g, limit 1.5 g. Computed.
    assert len(failing(run)) == 8
    assert {round(float(outcome.value), 2) for outcome in run.outcomes} == {0, -1.87, -3.74}


def test_at_the_mark_of_a_level_indicator_it_passes() -> None:
    assert failing(run_of(TiltTest(LOADS, 10), scale=FaultyScale(cosine))) == []


@pytest.mark.parametrize(("zero_g", "fails"), [(1.99, []), (2.01, ["change of zero, left side down"])])
def test_the_zero_may_move_by_two_e_and_loads_are_weighed_from_there(zero_g: float, fails: list[str]) -> None:
    run = run_of(TiltTest(LOADS), scale=FaultyScale(lambda world: zero_g if world.x_per_mille < 0 else 0.0))
    assert failing(run) == fails
    (left,) = [tilted for tilted in run.result.as_found[0] if tilted.x_per_mille < 0]
    assert round(float(left.no_load_g), 2) == zero_g
    assert all(abs(change_g) < 0.01 for _, change_g in left.loaded)


def test_the_scale_is_left_in_level() -> None:
    assert run_of(TiltTest(LOADS)).answered[-1][0] == LEVEL
