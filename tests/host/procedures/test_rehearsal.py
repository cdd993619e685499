"""A plan gone through with a perfect scale takes as many readings as on a real one."""

from decimal import Decimal
from fractions import Fraction

from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.rehearsal import PerfectScale, rehearse
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import Held
from scalewright.tolerances import AccuracyClass

LOADS = up_and_down(Decimal(3000), 4)
PLAN = Calibration(
    Held(AccuracyClass("III", Fraction(1)), readings=8),
    as_found=(RangeCheck(LOADS),),
    adjustment=MultiPoint(ScaleDesign(Decimal(3000), (1, 0), 1), LOADS, 8),
    as_left=(RangeCheck(LOADS),),
)


def test_a_perfect_scale_has_no_error_anywhere() -> None:
    scale, run = PerfectScale(b"", Decimal(3000), 10.0), Run(PLAN.steps)
    while run.request is not None:
        run.answer(scale.answer(run.request))
    assert len(run.outcomes) == len(LOADS)
    assert max(abs(outcome.value) for outcome in run.outcomes) < Fraction(1, 100)
    assert PLAN.passed(run.outcomes)


def test_time_and_readings_are_those_of_the_loads() -> None:
    outline = rehearse(PLAN)
    assert outline.readings == 2 * len(LOADS)
    # 18 loads of 5 s to change and 16 readings at 10 a second; nothing is left out for a zero that stays on the pan
    assert outline.duration_s == 18 * (5 + 1.6)


def test_coefficients_that_are_there_are_tested_first() -> None:
    run = Run(PLAN.steps)
    scale = PerfectScale(b"", Decimal(3000), 10.0)
    while run.request is not None:
        run.answer(scale.answer(run.request))
    assert run.result is not None and run.result.adjustment is not None
    assert rehearse(PLAN, run.result.adjustment.coefficients).readings == 3 * len(LOADS)
