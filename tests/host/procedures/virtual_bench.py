"""A calibrated virtual scale of Max 3 kg, e = d = 1 g, class III, with a fault if wanted, and tests on it."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

from scalewright.link.scale import Scale
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration, Test
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.perform import perform
from scalewright.procedures.plans import Plan
from scalewright.procedures.requests import Answer, Load, Request
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import Held, ScaleUnderTest
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.tolerances import AccuracyClass
from shared_calc.calibration import curve_through
from shared_calc.coefficient_record import CoefficientRecord, decode

URL = "virtual://bench?speed=0&rate=80"
HELD = Held(AccuracyClass("III", Fraction(1)), readings=8)
_LOADS = up_and_down(Decimal(3000), 6)


def loads(*grams: float) -> tuple[Load, ...]:
    return tuple(Load(Decimal(str(g))) for g in grams)


@cache
def coefficients() -> bytes:
    """Return those of the virtual scale without any fault."""
    plan = Calibration(HELD, adjustment=MultiPoint(ScaleDesign(Decimal(3000), (1, 0), 3), _LOADS, 16))
    with Scale.open(URL) as scale:
        return performed(plan, scale).result.adjustment.coefficients


def record() -> CoefficientRecord:
    return decode(coefficients())


def straight(mantissa: int = 1, power_of_ten: int = 0) -> CoefficientRecord:
    """Return coefficients of a scale of 3000 divisions without any error, 800 counts a division."""
    sums = [0, 3000 * 800]
    curve = curve_through(sums, 1, [0, 3000], [1, 1], 1, 1, -100_000, 2_600_000)
    return CoefficientRecord(curve, mantissa, power_of_ten, 3000)


def under_test(coefficient_record: CoefficientRecord, held: Held = HELD) -> ScaleUnderTest:
    return ScaleUnderTest(coefficient_record, held)


def performed(plan: Plan, scale: Scale, hand: type[VirtualHand] = VirtualHand) -> Run[Any]:
    """Carry a plan out and return its run at its end."""
    run: Run[Any] = Run(plan.steps)

    def keep(request: Request, answer: Answer, accepted: str) -> None:
        """Nothing is kept."""

    perform(run, scale, hand(scale), keep)
    return run


def carried_out(test: Test, *faults: str, hand: type[VirtualHand] = VirtualHand) -> Run[Any]:
    """Carry a test out on the scale after these commands; its result is `result.as_found[0]`."""
    with Scale.open(URL) as scale:
        scale.store_coefficients(coefficients())
        for fault in faults:
            scale.ask(fault)
        return performed(Calibration(HELD, as_found=(test,)), scale, hand)


def failing(run: Run[Any]) -> Sequence[str]:
    """Return what was not within its limit."""
    return [outcome.what for outcome in run.outcomes if not outcome.passes]
