"""The device with a thermometer on its cell."""

import pytest

from shared_calc.coefficient_record import CoefficientRecord, decode, encode
from shared_calc.curve import quantise
from shared_calc.temperature import Compensation
from tests.firmware.parts import Bench

# An invented scale: 1000 counts a gram over 100 000, d = 0.1 g; its zero moves by 30 counts in 1 C about 20 C and its
# span by 1e-4. In the units of temperature.py: 30 * 64 * 256, 1e-4 * 64 * 2**32, -(1e-4 * 64)**2 * 2**32.
WARMTH = Compensation(320, 0, 40, 100_000, 491_520, 0, 27_487_791, -175_922)
CURVE = quantise([900_000, 1], 100, 1_000_000, 1)  # 900 g at 1 000 000 counts
COEFFICIENTS = encode(CoefficientRecord(CURVE, 1, -1, 30_000, WARMTH))


class Thermometer:
    """Shows what a test says, in 1/16 C; None: lost."""

    def __init__(self) -> None:
        self.shows: int | None = 320

    def read(self) -> int | None:
        return self.shows


def counts(load_g: float, warmer_c: float) -> int:
    return round(100_000 + 30 * warmer_c + 1000 * load_g * (1 + 1e-4 * warmer_c))


@pytest.fixture
def bench() -> Bench:
    bench = Bench()
    bench.device.board.thermometer = Thermometer()
    assert bench.ask(f'CAL:DATA "{COEFFICIENTS.hex()}"') == []
    return bench


def read(bench: Bench, *readings: int) -> list[str]:
    """Return the fields of the reading after these conversions."""
    bench.convert(*readings)
    return bench.ask("FETCh?")[0].split(",")


def test_the_indication_does_not_follow_the_temperature_of_the_cell(bench: Bench) -> None:
    for warmer_c in (0, 15, -15, 20):
        bench.device.board.thermometer.shows = 320 + 16 * warmer_c
        _, _, raw, indication_g, temperature_c, _ = read(bench, *[counts(1234.5, warmer_c)] * 40)
        assert (int(raw), indication_g) == (counts(1234.5, warmer_c), "1234.5")
        assert temperature_c == f"{20 + warmer_c}.0000"


def test_a_lost_thermometer_is_flagged_and_the_scale_goes_on_weighing(bench: Bench) -> None:
    bench.device.board.thermometer.shows = 480
    read(bench, *[counts(500, 10)] * 40)
    bench.device.board.thermometer.shows = None
    _, _, _, indication_g, temperature_c, flags = read(bench, *[counts(500, 10)] * 2)
    assert (indication_g, temperature_c, flags) == ("500.0", "", "COMPENSATION_HELD")
    bench.device.board.thermometer.shows = 481
    assert "COMPENSATION_HELD" not in read(bench, counts(500, 10))[5]


def test_beyond_the_temperatures_it_was_made_for_the_compensation_is_held(bench: Bench) -> None:
    bench.device.board.thermometer.shows = 641
    *_, temperature_c, flags = read(bench, *[counts(500, 20)] * 40)
    assert (temperature_c, flags) == ("40.0625", "COMPENSATION_HELD")


def test_a_board_without_a_thermometer_shows_no_temperature() -> None:
    bench = Bench()
    assert read(bench, 5)[4:] == ["", "UNCALIBRATED"]
    bench.ask(f'CAL:DATA "{COEFFICIENTS.hex()}"')
    assert "COMPENSATION_HELD" in read(bench, *[counts(500, 0)] * 40)[5]


def test_an_adjustment_at_two_points_in_a_warm_room_keeps_the_compensation_and_is_right_at_the_reference(bench) -> None:
    device = bench.device
    device.board.thermometer.shows = 480
    bench.convert(*[counts(0, 10)] * 40)
    device.weighing.take_empty()
    bench.convert(*[counts(3000, 10)] * 40)
    device.weighing.take_load(3000 * 10**9)
    assert decode(device.store.data).compensation.fields == WARMTH.fields
    for warmer_c in (10, 0, -20):
        device.board.thermometer.shows = 320 + 16 * warmer_c
        assert read(bench, *[counts(2000, warmer_c)] * 40)[3] == "2000.0"
