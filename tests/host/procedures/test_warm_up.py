"""A scale that was cold, from the moment it is switched on."""

from math import exp

import pytest

from scalewright.procedures.requests import Restart, WaitUntil
from scalewright.procedures.warm_up import WarmUpTest
from tests.host.procedures.faulty_scale import FaultyScale, World, run_of
from tests.host.procedures.virtual_bench import failing, loads

(MAX,) = loads(3000)


def cold(zero_g: float, span_g: float) -> FaultyScale:
    """Both fade with a time constant of 10 min after switch-on."""

    def error_g(world: World) -> float:
        return (zero_g + span_g * world.load_g / 3000) * exp(-world.now_min / 10)

    return FaultyScale(error_g)


def test_it_is_cold_first_and_then_read_at_0_5_15_and_30_minutes() -> None:
    # OIML R 76-1:2006, A.5.2 (from memory): eight hours off; then 0, 5, 15 and 30 min
    run = run_of(WarmUpTest(MAX))
    asked = [request for request, _ in run.answered]
    assert Restart(8 * 3600) in asked
    assert [wait.time_ms / 60_000 for wait in asked if isinstance(wait, WaitUntil)] == [5, 15, 30]
    assert [round(float(point.minute)) for point in run.result.as_found[0]] == [0, 5, 15, 30]
    assert failing(run) == []


def test_a_zero_that_moves_fails_by_what_it_moved_since_switch_on() -> None:
    run = run_of(WarmUpTest(MAX), scale=cold(4.0, 0.0))
    assert failing(run) == [f"error at 0 g, {minute} min after switch-on" for minute in (5, 15, 30)]
    moved = [float(point.zero_g) for point in run.result.as_found[0]]
    assert moved == pytest.approx([0, -1.57, -3.1, -3.8], abs=0.1)  # 4 (exp(-t / 10 min) - 1); computed


def test_a_load_is_weighed_from_the_zero_of_its_time() -> None:
    run = run_of(WarmUpTest(MAX), scale=cold(0.4, 3.0))
    assert failing(run) == [f"error at 3000 g, {minute} min after switch-on" for minute in (0, 5)]
