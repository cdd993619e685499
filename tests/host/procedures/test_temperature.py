"""A scale in warm and cold air: when it has followed, and what temperature may do."""

from dataclasses import replace
from decimal import Decimal
from math import exp

import pytest

from scalewright.procedures.calibration import Calibration
from scalewright.procedures.rehearsal import PerfectScale
from scalewright.procedures.requests import PlaceLoad, SetAir, WaitUntil
from scalewright.procedures.run import Run
from scalewright.procedures.temperature import TemperatureTest
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import encode
from tests.host.procedures.faulty_scale import FaultyScale, World, run_of
from tests.host.procedures.virtual_bench import HELD, failing, loads, straight

AIRS_C = tuple(map(Decimal, (20, 40, -10, 20)))
PLAN = TemperatureTest(AIRS_C, loads(1500, 3000))


def test_a_scale_that_temperature_does_nothing_to_passes() -> None:
    run = run_of(PLAN)
    assert failing(run) == []
    assert [request.air_c for request, _ in run.answered if isinstance(request, SetAir)] == list(AIRS_C)
    assert [at.temperature_c for at in run.result.as_found[0]] == list(AIRS_C)


def test_span_and_zero_are_told_apart() -> None:
    # firmware/virtual_scale/README.md, faults to find: 100 ppm in 1 C are 6 g of 3000 g at 40 C; 0.5 g in 1 C at zero
    span = run_of(PLAN, scale=FaultyScale(lambda world: world.load_g * 1e-4 * (world.air_c - 20)))
    assert failing(span) == [f"error at {g} g, {c}.0 °C" for c in (40, -10) for g in (1500, 3000)]
    assert {round(float(o.value), 1) for o in span.outcomes if "3000 g, 40" in o.what} == {6.0}
    zero = run_of(PLAN, scale=FaultyScale(lambda world: 0.5 * (world.air_c - 20)))
    assert failing(zero) == [
        "zero in 5 °C, 20.0 to 40.0 °C",
        "zero in 5 °C, 40.0 to -10.0 °C",
        "zero in 5 °C, -10.0 to 20.0 °C",
    ]
    assert [round(float(o.value), 2) for o in zero.outcomes if o.what.startswith("zero")] == [2.5, 2.5, 2.5]


@pytest.mark.parametrize(("name", "degrees"), [("I", 1), ("III", 5)])
def test_the_zero_may_move_by_e_in_so_many_degrees(name: str, degrees: int) -> None:
    """OIML R 76-1:2006, 3.9.2.3 (from memory): 1 e per 1 °C for class I, per 5 °C for the others."""
    held = replace(HELD, limits=AccuracyClass(name, HELD.limits.e_g))
    run = Run(Calibration(held, as_found=(PLAN,)).steps)
    scale = FaultyScale(lambda world: 0.99 / degrees * (world.air_c - 20))
    while run.request is not None:
        run.answer(scale.answer(run.request))
    told = [outcome for outcome in run.outcomes if outcome.what.startswith("zero")]
    assert all(outcome.passes and round(float(outcome.value), 2) == 0.99 for outcome in told)
    assert all(outcome.what.startswith(f"zero in {degrees} °C") for outcome in told)


def test_loads_wait_until_the_scale_has_followed_by_its_own_thermometer() -> None:
    def follows(world: World) -> float:
        """A first-order lag of 15 min, from 20 °C at first."""
        before_c = {40.0: 20.0, -10.0: 40.0}.get(world.air_c, 20.0 if not world.air_min else -10.0)
        return world.air_c + (before_c - world.air_c) * exp((world.air_min - world.now_min) / 15)

    run = run_of(PLAN, scale=FaultyScale(temperature_c=follows))
    reached = [at.temperature_c for at in run.result.as_found[0]]
    assert all(abs(reached_c - air_c) < Decimal("0.3") for reached_c, air_c in zip(reached, AIRS_C, strict=True))
    waits = [request for request, _ in run.answered if isinstance(request, WaitUntil)]
    assert all(wait.time_ms - wait.since_ms == 300_000 for wait in waits)
    # 5 min change by 0.1 C where 0.35 C are left, after 15 ln(20 / 0.35) = 61 min; 74 and 67 min from 50 and 30 C
    assert 41 <= len(waits) <= 61


def test_a_scale_without_thermometer_is_given_the_time_of_one_look() -> None:
    run = Run(Calibration(HELD, as_found=(PLAN,)).steps)
    scale = PerfectScale(encode(straight()), Decimal(3000), 10)
    while run.request is not None:
        run.answer(scale.answer(run.request))
    assert [at.temperature_c for at in run.result.as_found[0]] == list(AIRS_C)
    assert sum(isinstance(request, WaitUntil) for request, _ in run.answered) == len(AIRS_C)
    placed = [request for request, _ in run.answered if isinstance(request, PlaceLoad)]
    assert placed[-1].load_g == 0
