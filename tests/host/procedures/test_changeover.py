"""Errors by changeover points: the worked case of OIML R 76, an ideal display, the virtual scale."""

from decimal import Decimal
from fractions import Fraction
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.errors import MeasurementError
from scalewright.procedures.changeover import Changeover, ChangeoverTest, find_changeover
from scalewright.procedures.requests import Indication, PlaceLoad, TakeIndication
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import Held
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord
from tests.host.procedures.virtual_bench import carried_out, failing, loads, straight, under_test


def found(record: CoefficientRecord, load_g: Decimal, error_g: Fraction) -> Changeover:
    """Find the changeover point on a display that only rounds."""
    d_g = record.mantissa * Fraction(10) ** record.power_of_ten
    scale = under_test(record, Held(AccuracyClass("IIII", d_g)))
    run = Run(lambda: find_changeover(scale, PlaceLoad(load_g)))
    placed = PlaceLoad(load_g)
    while run.request is not None:
        if isinstance(run.request, PlaceLoad):
            placed = run.request
            run.answer(None)
        else:
            assert isinstance(run.request, TakeIndication) and run.request.expected is not None
            fine_g = Fraction(placed.load_g + placed.added_g) + error_g
            divisions = floor(fine_g / d_g + Fraction(1, 2))
            shown_g = Decimal(divisions * record.mantissa).scaleb(record.power_of_ten)
            run.answer(Indication(shown_g, run.request.expected.counts, 0))
    assert run.result is not None
    return run.result


def test_the_worked_case_of_the_recommendation() -> None:
    # OIML R 76-1:2006, A.4.4.3 (from memory): e = 5 g, L = 1 kg, I = 1000 g, 1.5 g more make it 1005 g.
    # P = 1000 + 2.5 - 1.5 = 1001 g, E = +1 g; with E0 = +0.5 g, Ec = +0.5 g.
    at = Changeover(Decimal(1000), Decimal(1000), Decimal("1.5"), Fraction(5))
    assert at.before_rounding_g == 1001
    assert at.error_g == 1
    zero = Changeover(Decimal(50), Decimal(50), Decimal(2), Fraction(5))
    assert at.error_g - zero.error_g == Fraction(1, 2)


def test_the_same_case_as_the_procedure_finds_it() -> None:
    at = found(straight(5, 0), Decimal(1000), Fraction(1))
    assert (at.indication_g, at.added_g, at.error_g) == (1000, Decimal("1.5"), 1)


@given(
    st.sampled_from([1, 2, 5]),
    st.integers(-3, 1),
    st.integers(20, 2900),
    st.fractions(-1, 1, max_denominator=1000),
)
def test_any_error_below_a_division_is_found_within_a_tenth(
    mantissa: int, power_of_ten: int, divisions: int, error_d: Fraction
) -> None:
    """A.4.4.3: I + d/2 - dL, dL in steps of d/10: the last may be up to a tenth too much, never too little."""
    d_g = Decimal(mantissa).scaleb(power_of_ten)
    error_g = error_d * Fraction(d_g)
    at = found(straight(mantissa, power_of_ten), divisions * d_g, error_g)
    assert 0 <= error_g - at.error_g < Fraction(d_g) / 10


def test_the_limit_steps_up_just_beyond_500_e() -> None:
    # OIML R 76-1:2006, table 6, class III: 0.5 e up to and including 500 e, then 1 e, then 1.5 e beyond 2000 e
    scale = under_test(straight())
    limits = [scale.limit_g(Decimal(g)) for g in (500, 501, 2000, 2001)]
    assert limits == [Fraction(1, 2), 1, 1, Fraction(3, 2)]


def test_a_display_that_does_not_go_up_is_said_so() -> None:
    run = Run(lambda: find_changeover(under_test(straight()), PlaceLoad(Decimal(100))))
    with pytest.raises(MeasurementError, match=r"at 100 g the display stays at 100 g though 1\.5 g"):
        while run.request is not None:
            run.answer(Indication(Decimal(100), 80_000, 0) if isinstance(run.request, TakeIndication) else None)


def test_a_piece_that_is_too_heavy_fails_at_its_own_load() -> None:
    run = carried_out(ChangeoverTest(loads(500, 1500, 3000)), "VIRTual:MASS 500,0.9")
    assert failing(run) == ["error at 500 g, up"]
    errors = [float(step.error_g) for step in run.result.as_found[0].steps]
    assert errors == pytest.approx([0.9, 0, 0], abs=0.25)  # a tenth for each changeover point, and the cell's own
