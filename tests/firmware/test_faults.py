"""Causes from counts: each shows where it is there, none where it is not; signals by numpy, cosines by math."""

import math

import numpy as np
import pytest

from scalewright_device.faults import (
    CAUSES,
    DRIFTING,
    FLOATING_INPUT,
    MAINS_PICKUP,
    OPEN_EXCITATION,
    OVERLOADED,
    STUCK_DATA_LINE,
    SWAPPED_SIGNAL,
    Diagnosis,
    counts_showing,
    double_cosine,
    tone_of,
)
from shared_calc.coefficient_record import decode
from shared_calc.reading import BAD_FRAME, NO_DATA
from tests.firmware.parts import Bench, falling_record, record
from tests.shared_calc.small_int import SmallInt

ADC_NOISE = 40  # counts, of a HX711 at 80 a second
FULL = 3000 * 1001 - 2000  # counts at Max of record(1)


def diagnosed(counts, rate=80, by=None):
    """Return a diagnosis that has taken these counts."""
    diagnosis = Diagnosis()
    diagnosis.use(by and decode(by))
    for k, one in enumerate(counts):
        diagnosis.take(int(one), (k + 1) * 1000 // rate)
    return diagnosis


def noise(number, size=ADC_NOISE, seed=1):
    return np.random.default_rng(seed).normal(0, size, number)


def test_the_numbers_of_the_causes_follow_their_names():
    causes = (STUCK_DATA_LINE, OPEN_EXCITATION, SWAPPED_SIGNAL, FLOATING_INPUT, MAINS_PICKUP, DRIFTING, OVERLOADED)
    assert causes == tuple(1 << k for k in range(len(CAUSES)))


@pytest.mark.parametrize("rate", [10, 80])
def test_a_scale_in_use_shows_no_cause(rate):
    """Empty, with a load put on, off, and slowly filled, in the noise of its ADC; seen at every moment."""
    loads = np.concatenate([np.zeros(100), np.full(100, 1e6), np.zeros(100), np.linspace(0, 2e6, 300)])
    diagnosis = Diagnosis()
    diagnosis.use(decode(record(1)))
    for k, counts in enumerate(loads + 3000 + noise(600)):
        diagnosis.take(int(counts), k * 1000 // rate)
        assert diagnosis.causes() == 0, k


def test_the_noise_is_that_of_the_readings_within_a_fifth():
    # half the mean size of second differences is sqrt(6) sqrt(2/pi) / 2 = 0.977 of the standard deviation
    sizes = [diagnosed(noise(64, 1000, seed)).noise() for seed in range(50)]
    assert np.mean(sizes) == pytest.approx(977, rel=0.05)
    assert diagnosed(noise(63)).noise() is None


def test_noise_alone_is_never_taken_for_mains():
    found = [diagnosed(100_000 + noise(65, 3000, seed)).causes() for seed in range(2000)]
    assert [causes for causes in found if causes & MAINS_PICKUP] == []
    assert found.count(FLOATING_INPUT) > 1990


@pytest.mark.parametrize("mains_hz", [49.5, 50, 50.5, 59.5, 60, 60.5])
@pytest.mark.parametrize("rate", [80, 77, 84, 320])
def test_mains_is_found_at_its_beat_with_the_rate_whatever_its_phase(mains_hz, rate):
    for seed in range(20):
        phase = seed * math.pi / 10
        tone = 1500 * np.sin(2 * math.pi * mains_hz * np.arange(100) / rate + phase)
        assert diagnosed(500_000 + tone + noise(100, seed=seed), rate).causes() == MAINS_PICKUP


@pytest.mark.parametrize("swing_hz", [0.5, 2, 4, 10])
def test_a_swinging_load_is_not_mains(swing_hz):
    swing = 20_000 * np.sin(2 * math.pi * swing_hz * np.arange(100) / 80)
    assert not diagnosed(500_000 + swing + noise(100)).causes() & MAINS_PICKUP


@pytest.mark.parametrize("angle", range(-1024, 2048, 7))
def test_the_cosine_is_right_to_two_percent(angle):
    assert double_cosine(angle) == pytest.approx(512 * math.cos(2 * math.pi * angle / 1024), abs=10)


@pytest.mark.parametrize("angle", [0.4, 1.0, 1.57, 2.2, 3.0])
def test_a_tone_is_known_by_its_angle(angle):
    tone = [int(x) for x in 50_000 * np.sin(angle * np.arange(63) + 1)]
    assert tone_of(tone) == pytest.approx(512 * math.cos(angle), abs=4)
    assert tone_of([one // 500 for one in tone]) is None  # within the ADC's noise


def test_nothing_measured_where_something_is_expected_is_open_excitation():
    assert diagnosed(noise(64), by=record(1)).causes() == 0  # its zero is at -2000 counts: too near to tell
    assert diagnosed(noise(64)).causes() == OPEN_EXCITATION  # uncalibrated, and never anything else
    assert diagnosed([*[5000] * 3, *noise(64)]).causes() == 0


@pytest.mark.parametrize(("data", "load_counts"), [(record(1), 400_000), (falling_record(), -50_000)])
def test_far_below_zero_is_a_swapped_pair(data, load_counts):
    assert diagnosed(-load_counts + noise(64), by=data).causes() == SWAPPED_SIGNAL
    assert diagnosed(load_counts + noise(64), by=data).causes() == 0


def test_bad_frames_in_a_row_are_a_stuck_data_line():
    diagnosis = diagnosed(5000 + noise(64))
    for flags, causes in [(BAD_FRAME, 0), (BAD_FRAME, STUCK_DATA_LINE), (NO_DATA, 0)]:
        diagnosis.miss(flags)
        assert diagnosis.causes() == causes


@pytest.mark.parametrize(("counts_a_second", "is_drift"), [(50, True), (-50, True), (5, False), (3000, False)])
def test_a_reading_that_goes_one_way_for_long_drifts(counts_a_second, is_drift):
    seconds = np.arange(1800) / 10
    causes = diagnosed(500_000 + counts_a_second * seconds + noise(1800), rate=10).causes()
    assert causes == (DRIFTING if is_drift else 0)


def test_loads_put_on_one_by_one_are_no_drift():
    steps = 200_000 + np.repeat(np.arange(20) * 100_000, 100)
    assert diagnosed(steps + noise(2000), rate=10, by=record(1)).causes() & DRIFTING == 0


@pytest.mark.parametrize("data", [record(1), falling_record()])
def test_the_curve_is_followed_back_to_counts(data):
    curve = decode(data).curve
    for counts in (-8000, 0, 8000):
        assert abs(counts_showing(curve, curve.evaluate(counts)) - counts) <= 1


@pytest.mark.parametrize("data", [None, record(1), falling_record()])
def test_what_is_noted_of_each_reading_stays_within_small_integers(data):
    """So that it takes no heap on a 32-bit board; with the largest changes a converter can give."""
    diagnosis = Diagnosis()
    diagnosis.use(data and decode(data))
    for k in range(300):
        counts = (-8388608, 8388607)[k % 2] if k < 200 else 8388606 - k
        diagnosis.take(SmallInt(counts), SmallInt(k * 100))


# Through the whole device


@pytest.fixture
def bench():
    bench = Bench()
    assert bench.ask(f'CAL:DATA "{record(1).hex()}"') == []
    return bench


def test_an_overload_is_an_event_once_a_start_and_a_spike_is_none(bench):
    beyond = FULL + 600 * 1001 + 1000
    bench.convert(FULL, beyond, FULL, beyond - 2000, beyond - 2000)
    assert bench.ask("DIAG?")[0].split(",")[0] == "OVER_RANGE"
    for _ in range(2):
        bench.convert(beyond, beyond, 5000, 5000)
        assert bench.ask("DIAG?") == [f"OVERLOADED,,5000,{beyond}"]
        assert bench.ask("SYST:EVEN?")[0].split(";")[0] == "2"
    assert ",OVERLOADED," in bench.ask("SYST:EVEN?")[0]
    again = Bench(bench.folder)
    again.convert(5000)
    assert again.ask("DIAG?") == ["OK,,5000,5000"]


def test_an_overload_that_cannot_be_stored_is_an_error_and_the_device_weighs_on(bench):
    bench.folder.bytes_left = 0
    bench.convert(FULL * 2, FULL * 2, 98100, 98100)
    assert bench.ask("SYST:ERR?")[0].startswith("-250,")
    assert bench.ask("FETC?")[0].split(",")[3] == "100.0"


def test_self_test_and_diagnosis_tell_faults_and_causes(bench):
    assert bench.ask("DIAG?") == ["NO_DATA,,,"]
    bench.convert(*[-400_000] * 64)
    assert bench.ask("DIAG?") == ["SWAPPED_SIGNAL,0,-400000,-400000"]
    assert bench.ask("*TST?") == [str(SWAPPED_SIGNAL << 16)]
