"""Counts at the reference temperature, and the procedures that work with them."""

from decimal import Decimal
from fractions import Fraction

import pytest

from scalewright.errors import MeasurementError
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign, coefficients_for
from scalewright.procedures.range_check import step
from scalewright.procedures.requests import NOTHING, Load, StillReading, StoreCoefficients
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import Held, ScaleUnderTest
from scalewright.procedures.warmth import at_reference
from scalewright.quantities import Observation
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord, decode
from shared_calc.temperature import Compensation

# An invented scale, 850 counts a gram over 100 000; its zero moves by 30 counts in 1 C about 20 C, its span by 1e-4.
# In the units of temperature.py: 30 * 64 * 256, 1e-4 * 64 * 2**32, and -(1e-4 * 64)**2 * 2**32 for 1 / (1 + span).
WARMTH = Compensation(320, 10, 40, 100_000, 491_520, 0, 27_487_791, -175_922)
DESIGN = ScaleDesign(Decimal(3000), (1, 0), 1)


def under_test(record: CoefficientRecord) -> ScaleUnderTest:
    return ScaleUnderTest(record, Held(AccuracyClass("III", Fraction(1))))


def shown(load_g: int, temperature_c: str) -> StillReading:
    """What the scale's ADC shows under a load at a temperature: the sum of 16 readings."""
    warmer = Fraction(temperature_c) - 20
    counts = 100_000 + 30 * warmer + 850 * load_g * (1 + warmer / 10_000)
    return StillReading(round(16 * counts), 16, 0, 0, Decimal(temperature_c))


def test_a_mean_keeps_its_fraction() -> None:
    assert at_reference(Fraction(100_000) + Fraction(3, 16), None, None) == Fraction(1_600_003, 16)
    corrected = at_reference(Fraction(100_300) + Fraction(3, 16), Decimal(30), WARMTH)
    assert abs(corrected - (Fraction(100_000) + Fraction(3, 16))) <= Fraction(9, 16)


@pytest.mark.parametrize("temperature_c", [None, Decimal("9.9375"), Decimal("40.0625")])
def test_a_temperature_that_cannot_be_compensated_for_is_refused(temperature_c) -> None:
    with pytest.raises(MeasurementError, match="its compensation is for 10 to 40 C"):
        at_reference(Fraction(100_000), temperature_c, WARMTH)


def test_an_adjustment_in_a_warm_room_gives_the_scale_that_one_at_the_reference_gives() -> None:
    curves = []
    for temperature_c in ("20", "30.5"):
        observations = [
            Observation(Decimal(load), Decimal(s.counts_sum) / 16, n=16, temperature_c=s.temperature_c)
            for load in (0, 1000, 3000)
            for s in [shown(load, temperature_c)]
        ]
        record = decode(coefficients_for(DESIGN, observations, WARMTH))
        assert record.compensation.fields == WARMTH.fields
        curves.append(record.curve)
    counts = range(100_000, 2_600_000, 250_000)
    grams = [[curve.evaluate(c) / 2**curve.binary_exponent for c in counts] for curve in curves]
    assert grams[1] == pytest.approx(grams[0], abs=0.002)


def test_a_check_in_a_warm_room_sees_the_indication_that_the_device_shows() -> None:
    run = Run(lambda: MultiPoint(DESIGN, (NOTHING, Load(Decimal(3000))), 16).steps(WARMTH))
    for answer in (None, shown(0, "20"), None, shown(3000, "20")):
        run.answer(answer)
    assert isinstance(run.request, StoreCoefficients)
    record = decode(run.request.data)
    found = step(under_test(record), Decimal(2000), "up", shown(2000, "35"))
    assert found.indication_g == 2000 and abs(found.error_g) < Fraction(2, 1000)
    record.compensation = None
    assert step(under_test(record), Decimal(2000), "up", shown(2000, "35")).error_g > 3


def test_the_observations_of_an_adjustment_name_the_temperature() -> None:
    run = Run(lambda: MultiPoint(DESIGN, (NOTHING, Load(Decimal(3000))), 16).steps(None))
    for answer in (None, shown(0, "20"), None, shown(3000, "21.0625")):
        run.answer(answer)
    run.answer(run.request.data)
    assert [o.temperature_c for o in run.result.observations] == [Decimal(20), Decimal("21.0625")]
