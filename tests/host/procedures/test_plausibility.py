"""What is said of a reading that cannot be that of the load asked for."""

from decimal import Decimal

import pytest

from scalewright.errors import MeasurementError
from scalewright.procedures.plausibility import check_plausible
from scalewright.procedures.requests import Expected, Indication, StillReading, TakeIndication, TakeStillReading

HALF_KILOGRAM = Expected(Decimal(500), counts=400_000, within_counts=16_000, counts_per_g=Decimal(800))
EMPTY = Expected(Decimal(0), counts=0, within_counts=16_000, counts_per_g=Decimal(800))


@pytest.mark.parametrize(
    ("expected", "counts", "says"),
    [
        (HALF_KILOGRAM, 0, "nothing seems to be on the pan"),
        (HALF_KILOGRAM, 160_000, "about 200 g seems to be on the pan, not 500 g"),
        (EMPTY, 400_000, "about 500 g seems to be on the pan (clear the pan)"),
    ],
)
def test_the_load_that_seems_to_be_on_is_named(expected: Expected, counts: int, says: str) -> None:
    """Whether raw counts were taken or the display was read."""
    with pytest.raises(MeasurementError) as still:
        check_plausible(TakeStillReading(8, expected), StillReading(8 * counts, 8, 10, 0))
    with pytest.raises(MeasurementError) as shown:
        check_plausible(TakeIndication(8, expected), Indication(Decimal(0), counts, 0))
    assert says in str(still.value) and str(still.value) == str(shown.value)


def test_a_right_load_is_not_objected_to() -> None:
    check_plausible(TakeStillReading(8, HALF_KILOGRAM), StillReading(8 * 410_000, 8, 10, 0))
    check_plausible(TakeIndication(8, HALF_KILOGRAM), Indication(Decimal(512), 410_000, 0))
    check_plausible(TakeIndication(8), Indication(Decimal(512), 410_000, 0))


def test_a_reading_as_before_is_refused_where_it_must_be_another() -> None:
    before = StillReading(8 * 1000, 8, 10, 0)
    with pytest.raises(MeasurementError, match="the reading is as before"):
        check_plausible(TakeStillReading(8, unlike=before), StillReading(8 * 1040, 8, 10, 0))
    check_plausible(TakeStillReading(8, unlike=before), StillReading(8 * 1041, 8, 10, 0))
