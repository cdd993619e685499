"""Errors of indication against the limits of OIML R 76."""

from decimal import Decimal
from fractions import Fraction

import pytest

from scalewright.errors import MeasurementError
from scalewright.procedures.range_check import RangeCheck, hysteresis, step
from scalewright.procedures.requests import StillReading
from scalewright.procedures.scale_under_test import Held, ScaleUnderTest
from scalewright.tolerances import AccuracyClass
from shared_calc.calibration import curve_through
from shared_calc.coefficient_record import CoefficientRecord
from tests.host.procedures.virtual_bench import carried_out, failing, loads

COUNTS_A_GRAM = 800


def record() -> CoefficientRecord:
    loads = [0, 3000]
    sums = [load * COUNTS_A_GRAM for load in loads]
    return CoefficientRecord(curve_through(sums, 1, loads, [1, 1], 1, 1, 0, 2_600_000), 1, 0, 3000)


def under_test(record: CoefficientRecord) -> ScaleUnderTest:
    return ScaleUnderTest(record, Held(AccuracyClass("III", Fraction(1))))


def test_the_error_is_that_of_the_indication_before_rounding() -> None:
    # OIML R 76-1:2006, 3.5.3.2: the rounding error of a digital indication is removed where d > 0.2 e.
    still = StillReading(16 * (500 * COUNTS_A_GRAM + 320), 16, 0, 0)  # 0.4 g too much
    result = step(under_test(record()), Decimal(500), "up", still)
    assert result.indication_g == 500
    assert abs(result.error_g - Fraction(4, 10)) < Fraction(1, 1000)
    assert result.limit_g == Fraction(1, 2)
    assert result.passes


def test_a_load_that_the_coefficients_do_not_reach_is_not_judged_by_them() -> None:
    still = StillReading(16 * 8_000_000, 16, 0, 0)
    with pytest.raises(MeasurementError, match="8000000 counts are beyond what the coefficients cover"):
        step(under_test(record()), Decimal(3000), "up", still)


def test_just_beyond_the_limit_fails_though_the_display_rounds_it_away() -> None:
    # OIML R 76-1:2006, table 6: class III up to 500 e, half an e.
    still = StillReading(16 * (100 * COUNTS_A_GRAM - 408), 16, 0, 0)  # 0.51 g too little
    assert not step(under_test(record()), Decimal(100), "up", still).passes


def test_a_cell_with_hysteresis_reads_more_on_the_way_down() -> None:
    # virtual_scale.load_cell: Rayleigh's loop from 0 to P is P**2 / 2 wide in its middle, times 2 * 0.0008 / 5000 per g
    run = carried_out(RangeCheck(loads(0, 1500, 3000, 1500, 0)), "VIRTual:CELL hysteresis,0.0008")
    ways = {load_g: float(difference_g) for load_g, difference_g in hysteresis(run.result.as_found[0]).items()}
    assert list(ways) == [1500, 0]
    assert ways[1500] == pytest.approx(3000**2 / 2 * 2 * 0.0008 / 5000, abs=0.2)
    assert ways[0] == pytest.approx(0, abs=0.2)
    assert "error at 1500 g, down" in failing(run)


@pytest.mark.parametrize(
    ("load_g", "limit_g"),
    # OIML R 76-1:2006, table 6: class III, e = 1 g, 0.5 g up to 500 g, 1 g up to 2000 g, 1.5 g above.
    [("500", "0.5"), ("500.0041", "0.5"), ("501", "1"), ("2000.0041", "1"), ("1999.9959", "1"), ("2001", "1.5")],
)
def test_reference_masses_test_the_load_that_they_are_marked_with(load_g: str, limit_g: str) -> None:
    assert under_test(record()).limit_g(Decimal(load_g)) == Fraction(limit_g)
