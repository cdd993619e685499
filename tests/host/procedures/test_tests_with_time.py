"""What holds for every test of time, tilt and temperature."""

from decimal import Decimal
from fractions import Fraction
from typing import get_args

import pytest

from scalewright.plain import plain, revive
from scalewright.procedures.calibration import Test
from scalewright.procedures.creep import CreepTest
from scalewright.procedures.instructions import instruction
from scalewright.procedures.plans import Plan
from scalewright.procedures.rehearsal import rehearse
from scalewright.procedures.requests import ANSWERS, Request
from scalewright.procedures.run import Run
from scalewright.procedures.temperature import TemperatureTest
from scalewright.procedures.tilt import TiltTest
from scalewright.procedures.warm_up import WarmUpTest
from shared_calc.coefficient_record import encode
from tests.host.procedures.faulty_scale import plan_of, run_of
from tests.host.procedures.virtual_bench import loads, straight

HALF, MAX = loads(1500, 3000)
LONG = {  # test -> minutes that it takes, loads and chamber included
    CreepTest(MAX): (30, 35),
    TiltTest((HALF, MAX)): (6, 12),
    WarmUpTest(MAX): (8 * 60 + 30, 8 * 60 + 35),
    TemperatureTest((Decimal(20), Decimal(40)), (HALF, MAX)): (2 * 65, 2 * 70),
}


@pytest.mark.parametrize("test", LONG, ids=lambda test: test.title)
def test_a_job_with_it_is_told_by_plain_data_alone(test: Test) -> None:
    plan = plan_of(test)
    assert type(test) in get_args(Test)
    assert revive(plain(plan), Plan) == plan
    run, answers = run_of(test), []
    for request, answer in run.answered:
        assert revive(plain(request), Request) == request
        kind = ANSWERS.get(type(request))
        answers.append(None if kind is None else revive(plain(answer), kind))
    again = Run(plan.steps, answers)
    assert again.request is None
    assert (again.result, again.outcomes) == (run.result, run.outcomes)
    plain(run.result)


@pytest.mark.parametrize("test", LONG, ids=lambda test: test.title)
def test_a_perfect_scale_passes_it_without_error(test: Test) -> None:
    run = run_of(test)
    assert all(instruction(request) for request, _ in run.answered)
    assert run.outcomes and plan_of(test).passed(run.outcomes)
    assert max(abs(outcome.value) for outcome in run.outcomes) < Fraction(1, 100)


@pytest.mark.parametrize(("test", "minutes"), LONG.items(), ids=lambda it: getattr(it, "title", ""))
def test_how_long_it_takes_is_known_before(test: Test, minutes: tuple[int, int]) -> None:
    shortest, longest = minutes
    assert shortest <= rehearse(plan_of(test), encode(straight())).duration_s / 60 <= longest
