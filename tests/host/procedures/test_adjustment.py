"""From answers to coefficients, and what stops an adjustment."""

from decimal import Decimal
from fractions import Fraction

import pytest

from scalewright.errors import MeasurementError, ProcedureError
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign, coefficients_for
from scalewright.procedures.plausibility import check_plausible
from scalewright.procedures.requests import NOTHING, Load, PlaceLoad, StillReading, StoreCoefficients, TakeStillReading
from scalewright.procedures.run import Run
from scalewright.quantities import Observation
from shared_calc.calibration import coverage, curve_through
from shared_calc.coefficient_record import decode


def observed(points: list[tuple[str, str]], readings: int = 16) -> list[Observation]:
    return [Observation(Decimal(load), Decimal(counts), n=readings) for load, counts in points]


@pytest.mark.parametrize("division", [(1, 0), (2, -1), (5, -2)])
@pytest.mark.parametrize("readings", [16, 20, 7])
def test_a_line_through_two_points_weighs_both_to_a_hundredth_of_a_division(
    division: tuple[int, int], readings: int
) -> None:
    design = ScaleDesign(Decimal(300), division, 1)
    record = decode(coefficients_for(design, observed([("0", "-12345"), ("300", "2345678")], readings)))
    for load_g, counts in ((0, -12345), (300, 2345678)):
        shown = Fraction(record.curve.evaluate(counts), 1 << record.curve.binary_exponent)
        assert abs(shown - load_g / design.division_g) < Fraction(1, 100)
    assert record.max_divisions == 300 / design.division_g


def test_a_mean_that_no_decimal_can_write_is_still_taken_exactly() -> None:
    design = ScaleDesign(Decimal(300), (1, 0), 1)
    seventh = Decimal(1_000_001) / 7  # a recurring decimal, cut off at 28 digits
    others = observed([("300", "2000000")], 7)
    sums = [1_000_001, 14_000_000]
    low, high = coverage(sums[0] // 7, sums[1] // 7)
    expected = curve_through(sums, 7, [0, 300], [1, 1], 1, 1, low, high)
    curve = decode(coefficients_for(design, [Observation(Decimal(0), seventh, n=7), *others])).curve
    assert curve.coefficients == expected.coefficients


@pytest.mark.parametrize(
    ("points", "division", "says"),
    [
        ([("0", "1000"), ("0", "1000")], (1, 0), "too few different loads"),
        ([("0", "1000"), ("300", "1000")], (1, 0), "too few different loads"),
        ([("0", "0"), ("150", "1000000"), ("300", "0")], (1, 0), "flat or turns back"),
        ([("0", "0"), ("300", "1000000")], (1, -9), "too fine"),
    ],
)
def test_points_that_make_no_scale_are_refused_in_words(
    points: list[tuple[str, str]], division: tuple[int, int], says: str
) -> None:
    design = ScaleDesign(Decimal(300), division, 1)
    with pytest.raises(ProcedureError, match=says):
        coefficients_for(design, observed(points))


def test_coefficients_that_come_back_changed_stop_the_adjustment() -> None:
    plan = MultiPoint(ScaleDesign(Decimal(300), (1, 0), 1), (NOTHING, Load(Decimal(300))), 16)
    run = Run(lambda: plan.steps(None))
    for answer in (None, StillReading(0, 16, 0, 0), None, StillReading(16_000_000, 16, 0, 0)):
        run.answer(answer)
    assert isinstance(run.request, StoreCoefficients)
    with pytest.raises(ProcedureError, match="read back differ"):
        run.answer(run.request.data[:-1] + b"\0")


def asked_at(loads: list[str], counts_per_g: int, spread: int = 8) -> list[TakeStillReading]:
    """Return what is asked of each reading, when a cell of so many counts a gram answers."""
    plan = MultiPoint(ScaleDesign(Decimal(300), (1, 0), 1), tuple(Load(Decimal(g)) for g in loads), 16)
    run, asked, load_g = Run(lambda: plan.steps(None)), [], Decimal(0)
    while not isinstance(run.request, StoreCoefficients):
        if isinstance(run.request, PlaceLoad):
            load_g = run.request.load_g
            run.answer(None)
        else:
            assert isinstance(run.request, TakeStillReading)
            asked.append(run.request)
            run.answer(StillReading(16 * (50_000 + counts_per_g * int(load_g)), 16, spread, 0))
    return asked


@pytest.mark.parametrize("counts_per_g", [4000, -4000])
def test_a_wrong_load_is_refused_as_soon_as_two_loads_tell_what_a_gram_is(counts_per_g: int) -> None:
    zero, first, second, third = asked_at(["0", "100", "200", "300"], counts_per_g)
    assert zero.expected is None and zero.unlike is None
    assert first.expected is None and first.unlike is not None
    for request, right_g, wrong_g in ((second, 200, 100), (third, 300, 200), (third, 300, 0), (second, 200, 250)):
        check_plausible(request, StillReading(16 * (50_000 + counts_per_g * right_g), 16, 8, 0))
        with pytest.raises(MeasurementError, match=f"about {wrong_g} g seems|nothing seems"):
            check_plausible(request, StillReading(16 * (50_000 + counts_per_g * wrong_g), 16, 8, 0))


def test_the_first_load_must_change_the_reading() -> None:
    first = asked_at(["0", "300"], 4000)[1]
    with pytest.raises(MeasurementError, match="the reading is as before"):
        check_plausible(first, StillReading(16 * 50_003, 16, 8, 0))
