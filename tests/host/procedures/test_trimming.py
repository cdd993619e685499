"""A trim asks for zero and full load only, and stores what its type's curve makes of them."""

from decimal import Decimal
from fractions import Fraction

import pytest

from scalewright.analysis.type_curve import TypeCurve
from scalewright.errors import ProcedureError
from scalewright.procedures.requests import Load, PlaceLoad, StillReading, StoreCoefficients, TakeStillReading
from scalewright.procedures.run import Run
from scalewright.procedures.trimming import Trimming, TypeCurveTrim
from shared_calc.coefficient_record import decode

CURVE = TypeCurve("invented", Decimal(3000), (Decimal("-0.002"), Decimal("0.0005")), None, ())
ZERO, FULL = StillReading(16 * 40_000 + 3, 16, 12, 1000), StillReading(16 * 2_600_000, 16, 24, 9000)


def start(full_g: str = "3000") -> Run[Trimming]:
    plan = TypeCurveTrim(CURVE, (1, 0), Load(Decimal(full_g), (), Decimal("0.01")), 16)
    return Run(lambda: plan.steps(None))


def test_only_zero_and_full_load_are_asked_for() -> None:
    run = start()
    asked = []
    for answer in (None, ZERO, None, FULL):
        asked.append(run.request)
        run.answer(answer)
    full = PlaceLoad(Decimal(3000))
    assert asked == [PlaceLoad(Decimal(0)), TakeStillReading(16), full, TakeStillReading(16, unlike=ZERO)]
    assert isinstance(run.request, StoreCoefficients)
    run.answer(run.request.data)
    assert run.result is not None
    trim = run.result.trim
    assert (trim.zero.counts, trim.full.counts) == (40_000 + Fraction(3, 16), 2_600_000)
    assert (trim.full.u_load_g, trim.full.u_counts) == (0.01, pytest.approx(24 / 12**0.5))  # evenly within the spread
    curve = decode(run.result.coefficients).curve
    for counts in (40_000, 1_000_000, 2_600_000):
        shown = Fraction(curve.evaluate(counts), 1 << curve.binary_exponent)
        assert abs(shown - trim.load_g(Fraction(counts))) < Fraction(1, 1000)


@pytest.mark.parametrize(
    ("full_g", "full", "says"),
    [("3000", ZERO, "the same counts"), ("1000", FULL, "at least half of it")],
)
def test_loads_that_make_no_scale_stop_the_trim_in_words(full_g: str, full: StillReading, says: str) -> None:
    run = start(full_g)
    for answer in (None, ZERO, None):
        run.answer(answer)
    with pytest.raises(ProcedureError, match=says):
        run.answer(full)


def test_coefficients_that_come_back_changed_stop_the_trim() -> None:
    run = start()
    for answer in (None, ZERO, None, FULL):
        run.answer(answer)
    with pytest.raises(ProcedureError, match="differ from those sent"):
        run.answer(bytes(8))
