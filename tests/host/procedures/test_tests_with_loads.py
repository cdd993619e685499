"""What holds for every test that works with loads."""

from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import get_args

import pytest

from scalewright.plain import plain, revive
from scalewright.procedures.calibration import Calibration, Test
from scalewright.procedures.changeover import ChangeoverTest
from scalewright.procedures.discrimination import DiscriminationTest
from scalewright.procedures.eccentricity import EccentricityTest, places_for
from scalewright.procedures.instructions import instruction
from scalewright.procedures.plans import Plan
from scalewright.procedures.rehearsal import PerfectScale
from scalewright.procedures.repeatability import RepeatabilityTest
from scalewright.procedures.requests import ANSWERS, ClearZeroAndTare, Load, Request, SetTare, SetZero
from scalewright.procedures.run import Run
from scalewright.procedures.substitution import SubstitutionTest
from scalewright.procedures.zero_and_tare import TareTest, ZeroSettingTest
from shared_calc.coefficient_record import encode
from tests.host.procedures.virtual_bench import HELD, carried_out, loads, straight

(KILOGRAM,) = loads(1000)
on_a_good_scale = cache(carried_out)
TESTS: tuple[Test, ...] = (
    RepeatabilityTest(loads(1500, 3000), 3),
    EccentricityTest(KILOGRAM, places_for("rectangular", 4)),
    ChangeoverTest(loads(500, 3000, 500)),
    DiscriminationTest(loads(20, 3000)),
    ZeroSettingTest(),
    TareTest(KILOGRAM, loads(500, 2000)),
    SubstitutionTest(Load(Decimal(1000), ("500", "500*"), Decimal("0.005")), 3),
)


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test.title)
def test_a_job_with_it_is_told_by_plain_data_alone(test: Test) -> None:
    plan = Calibration(HELD, as_found=(test,))
    assert type(test) in get_args(Test)
    assert revive(plain(plan), Plan) == plan
    run = on_a_good_scale(test)
    kept = [(plain(request), plain(answer)) for request, answer in run.answered]
    answers = []
    for (request, answer), (done, _) in zip(kept, run.answered, strict=True):
        assert revive(request, Request) == done
        kind = ANSWERS.get(type(done))
        answers.append(None if kind is None else revive(answer, kind))
    again = Run(plan.steps, answers)
    assert again.request is None
    assert (again.result, again.outcomes) == (run.result, run.outcomes)
    plain(run.result)


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test.title)
def test_a_perfect_scale_passes_it_without_error(test: Test) -> None:
    plan = Calibration(HELD, as_found=(test,))
    run = Run(plan.steps)
    scale = PerfectScale(encode(straight()), plan.full_g, 80.0)
    while run.request is not None:
        assert instruction(run.request)
        run.answer(scale.answer(run.request))
    assert run.outcomes and plan.passed(run.outcomes)
    assert max(abs(outcome.value) for outcome in run.outcomes) < Fraction(1, 100)


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test.title)
def test_a_good_scale_passes_it_and_is_left_with_its_own_zero(test: Test) -> None:
    run = on_a_good_scale(test)
    assert all(outcome.passes for outcome in run.outcomes)
    requests = [request for request, _ in run.answered]
    if any(isinstance(request, SetZero | SetTare) for request in requests):
        assert requests[-1] == ClearZeroAndTare()
