"""Creep and zero return, by the device's own clock, against OIML R 76."""

from math import exp

import pytest

from scalewright.procedures.creep import CreepTest
from scalewright.procedures.requests import PlaceLoad, TakeStillReading, WaitUntil
from tests.host.procedures.faulty_scale import FaultyScale, World, run_of
from tests.host.procedures.virtual_bench import failing, loads

(MAX,) = loads(3000)


def creeping(grams: float, minutes: float, back_g: float = 0.0):
    """Return the error of a scale that creeps by so much with this time constant."""

    def error_g(world: World) -> float:
        if not world.load_g:
            return back_g if world.heaviest_g else 0.0
        return grams * (1 - exp((world.placed_min - world.now_min) / minutes))

    return FaultyScale(error_g)


def test_a_load_stands_for_half_an_hour_and_is_then_taken_off() -> None:
    asked = [request for request, _ in run_of(CreepTest(MAX)).answered]
    waits = [request for request in asked if isinstance(request, WaitUntil)]
    assert [(wait.time_ms - wait.since_ms) // 60_000 for wait in waits] == [5, 15, 30]
    assert [r.load_g for r in asked if isinstance(r, PlaceLoad)] == [0, 3000, 0]
    assert isinstance(asked[-1], TakeStillReading)


def test_what_is_found_stands_beside_its_limit() -> None:
    # OIML R 76-1:2006, 3.9.4.1 and 3.9.4.2 (from memory): 0.5 e, 0.2 e from 15 to 30 min, 0.5 e back; e = 1 g.
    run = run_of(CreepTest(MAX), scale=creeping(0.3, 5, back_g=0.25))
    assert failing(run) == []
    assert [float(outcome.limit) for outcome in run.outcomes] == [0.5, 0.5, 0.5, 0.2, 0.5]
    assert [outcome.source.split(", ")[1] for outcome in run.outcomes] == [*["3.9.4.1"] * 4, "3.9.4.2"]
    changes = [float(outcome.value) for outcome in run.outcomes]
    # 0.3 (1 - exp(-t / 5 min)) at 5, 15, 30 min; computed
    assert changes == pytest.approx([0.1896, 0.2851, 0.2993, 0.0142, 0.25], abs=0.002)


@pytest.mark.parametrize(
    ("scale", "what"),
    [
        (creeping(0.53, 5), ["change in 15 min, 3000 g", "change in 30 min, 3000 g"]),
        (creeping(-0.6, 15, -0.51), ["change in 30 min, 3000 g", "zero return after 30 min, 3000 g"]),
        (creeping(1.2, 60), ["change from 15 to 30 min, 3000 g"]),  # 1.2 (exp(-1/4) - exp(-1/2)) = 0.207
    ],
)
def test_each_limit_is_missed_by_itself(scale: FaultyScale, what: list[str]) -> None:
    assert failing(run_of(CreepTest(MAX), scale=scale)) == what
