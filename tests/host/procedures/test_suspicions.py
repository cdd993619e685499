"""Faults by name, each from a scale that has just this one. How results are read is common practice."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from math import exp
from random import Random
from typing import Any

import pytest

from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.changeover import ChangeoverTest
from scalewright.procedures.creep import CreepTest
from scalewright.procedures.eccentricity import EccentricityTest, places_for
from scalewright.procedures.faults import CHECKS, Suspicion
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.repeatability import RepeatabilityTest
from scalewright.procedures.run import Run
from scalewright.procedures.suspicions import suspicions
from scalewright.procedures.temperature import TemperatureTest
from scalewright.procedures.tilt import TiltTest
from scalewright.procedures.warm_up import WarmUpTest
from tests.host.procedures.faulty_scale import FaultyScale, World, plan_of, run_of
from tests.host.procedures.virtual_bench import loads

KILOGRAM, HALF, MAX = loads(1000, 1500, 3000)
RANGE = RangeCheck(up_and_down(Decimal(3000), 5))
CORNERS = EccentricityTest(KILOGRAM, places_for("rectangular", 4))
USUAL = (RANGE, RepeatabilityTest((HALF, MAX), 5), CORNERS)
_noise = Random(7)


def corner(world: World) -> float:
    return 0.0025 * world.load_g if (world.at.x, world.at.y) == (Decimal("-0.5"), Decimal("-0.5")) else 0.0


def loop(world: World) -> float:
    """Wider in the middle, gone at zero and Max."""
    share = world.load_g / 3000
    return 14 * share * (1 - share) * (1 if world.heaviest_g == 3000 else -1)


def crept(world: World) -> float:
    return 3.0 * (1 - exp((world.placed_min - world.now_min) / 8)) if world.load_g else min(world.heaviest_g, 2.0)


def jumped(world: World) -> float:
    return 15.0 if world.heaviest_g == 3000 else 0.0


def drifting(world: World) -> float:
    return 0.04 * world.placings


def restless(world: World) -> float:
    return _noise.gauss(0, 1.5) if world.load_g else 0.0


def odd(world: World) -> float:
    return -3.0 if world.load_g == 1800 else 0.0


def bow(world: World) -> float:
    return 6 * world.load_g / 3000 * (1 - world.load_g / 3000)


def jumped_at_last(world: World) -> float:
    return 15.0 if world.placings > 28 else 0.0


CASES: list[tuple[str, tuple[Any, ...], Callable[[World], float], str]] = [
    ("corner error", USUAL, corner, "the corner front left reads 2.5 g more than the middle with 1000 g"),
    ("hysteresis", USUAL[:1], loop, "1800 g reads 6.72 g more on the way down than on the way up"),
    ("creep", (CreepTest(MAX),), crept, "3000 g reads 2.93 g more after 30 min; the zero comes back to +2 g"),
    ("zero shift", USUAL[:1], jumped, "the zero jumped by +15 g and stayed there"),
    ("moving zero", USUAL, drifting, "the zero moved by up to +1.24 g"),
    ("does not repeat", USUAL[1:2], restless, "5 weighings of 1500 g spread over"),
    ("bad reference mass", USUAL, odd, "with the masses of 1800 g on, the scale shows 3 g less"),
    ("wrong span", USUAL[:1], lambda w: w.load_g * -0.001, "all loads read 0.1 % low: -3 g at 3000 g"),
    ("bent", USUAL[:1], bow, "1200 g reads 1.44 g more than the line"),
    ("out of level", (TiltTest((MAX,)),), lambda w: -0.04 * w.load_g * (w.x_per_mille / 1000), "right side down: -6 g"),
    ("warming up", (WarmUpTest(MAX),), lambda w: 4 * exp(-w.now_min / 10), "0 min: +0 g; 5 min: -1.5"),
    (
        "span with temperature",
        (TemperatureTest((Decimal(20), Decimal(40)), (MAX,)),),
        lambda w: w.load_g * 1e-4 * (w.air_c - 20),
        "error at 3000 g, 40.0 °C: +6 g, allowed 1.5 g",
    ),
    (
        "zero with temperature",
        (TemperatureTest((Decimal(20), Decimal(40)), (MAX,)),),
        lambda w: 0.5 * (w.air_c - 20),
        "zero in 5 °C, 20.0 to 40.0 °C: +2.5 g, allowed 1 g",
    ),
]


@pytest.mark.parametrize(("fault", "tests", "error_g", "seen"), CASES, ids=[case[0] for case in CASES])
def test_a_fault_is_named_and_no_other(fault: str, tests: tuple[Any, ...], error_g: Any, seen: str) -> None:
    run = run_of(*tests, scale=FaultyScale(error_g))
    found = suspicions(plan_of(*tests), run)
    assert [suspicion.fault for suspicion in found] == [fault] * len(found) != []
    assert seen in found[0].seen
    assert str(found[0]).endswith(f"To check: {CHECKS[fault]}.")


def test_the_masses_of_max_can_be_found_wrong_too() -> None:
    run = run_of(RANGE, scale=FaultyScale(lambda world: -3.0 if world.load_g == 3000 else 0.0))
    (found,) = suspicions(plan_of(RANGE), run)
    assert found.seen.startswith("with the masses of 3000 g on, the scale shows 3 g less")


def test_a_scale_that_does_not_repeat_is_blamed_for_nothing_that_chance_may_do() -> None:
    both = RANGE, RepeatabilityTest((HALF, MAX), 5)
    found = suspicions(plan_of(*both), run_of(*both, scale=FaultyScale(lambda w: restless(w) + corner(w) + loop(w))))
    assert [suspicion.fault for suspicion in found] == ["does not repeat"]


def test_an_open_job_points_to_what_its_tests_until_now_do() -> None:
    run, whole = Run(plan_of(*USUAL).steps), run_of(*USUAL, scale=FaultyScale(odd))
    for _, answer in whole.answered[:-1]:
        run.answer(answer)
    assert run.result is None
    assert [suspicion.fault for suspicion in suspicions(plan_of(*USUAL), run)] == ["bad reference mass"]


def test_once_adjusted_only_what_is_left_counts() -> None:
    adjustment = MultiPoint(ScaleDesign(Decimal(3000), (1, 0), 3), RANGE.loads, 8)
    plan = replace(plan_of(RANGE), adjustment=adjustment, as_left=(RANGE,))
    found = {}
    for name, error_g in (("bent", bow), ("jumped", jumped_at_last)):
        run, scale = Run(plan.steps), FaultyScale(error_g)
        while run.request is not None:
            run.answer(scale.answer(run.request))
        found[name] = [suspicion.fault for suspicion in suspicions(plan, run)]
    assert found == {"bent": [], "jumped": ["zero shift"]}


def test_every_fault_that_has_a_name_is_tried() -> None:
    assert {case[0] for case in CASES} | {"temperature changed"} == set(CHECKS)


def test_nothing_is_suspected_of_a_good_scale() -> None:
    tests = (*USUAL, CreepTest(MAX), TiltTest((MAX,)), ChangeoverTest(loads(500)))
    assert suspicions(plan_of(*tests), run_of(*tests)) == ()


def test_a_temperature_that_changed_during_a_test_explains_what_failed() -> None:
    """A step of 15 °C while the range is checked, on a scale whose zero moves by 0.5 g in 1 °C."""

    def warm_c(world: World) -> float:
        return 20.0 if world.placings < 8 else 35.0

    run = run_of(*USUAL[:1], scale=FaultyScale(lambda world: 0.5 * (warm_c(world) - 20), warm_c))
    (found,) = suspicions(plan_of(*USUAL[:1]), run)
    assert found.fault == "temperature changed"
    assert found.seen == "the scale was between 20.0 and 35.0 °C during the test: errors over the range"


def test_a_temperature_that_changed_without_harm_is_not_mentioned() -> None:
    scale = FaultyScale(temperature_c=lambda world: 20.0 + world.placings)
    assert suspicions(plan_of(*USUAL), run_of(*USUAL, scale=scale)) == ()


def test_a_run_that_has_no_result_yet_points_to_nothing() -> None:
    plan = plan_of(RANGE)
    assert suspicions(plan, Run(plan.steps)) == ()


def test_a_suspicion_says_what_was_seen_and_what_to_check() -> None:
    said = str(Suspicion("zero shift", "the zero jumped by +15 g and stayed there"))
    assert said.startswith("zero shift: the zero jumped by +15 g and stayed there. To check: see what lies on or under")
