"""The ADS1232 model against its datasheet, SBAS350; figures marked M are from memory of it."""

import statistics

import pytest

from tests.virtual_scale.chip_bench import Ads1232Bench
from virtual_scale.random_numbers import RandomNumbers

MS = 1_000_000


def change_in_ms(bench):
    return (bench.chip.next_change_ns() - bench.clock.now_ns) / MS


@pytest.mark.parametrize(("rate_sps", "settling_ms", "period_ms"), [(10, 401, 100), (80, 51, 12.5)])
def test_the_first_conversion_comes_settled_and_the_others_at_the_output_rate(rate_sps, settling_ms, period_ms):
    """Settling time 401 ms and 51 ms; data rate 10 and 80 SPS, table 7."""
    bench = Ads1232Bench(rate_sps)
    bench.set_counts(6_000_000)
    words, ends_ms = [], []
    for _ in range(4):
        bench.wait_for_conversion()
        ends_ms.append(bench.clock.now_ns / MS)
        bits = [bench.pulse() for _ in range(25)]
        words.append(int("".join(map(str, bits[:24])), 2))
    assert ends_ms == [pytest.approx(settling_ms + k * period_ms, abs=0.01) for k in range(4)]
    assert words == [6_000_000] * 4


def test_an_input_step_takes_four_conversions_and_the_fifth_is_settled():
    """A step within a conversion: discard four, use the fifth."""
    bench = Ads1232Bench()
    bench.take()
    bench.set_counts(1_000_000)
    words = [bench.take() for _ in range(5)]
    assert words[4] == 1_000_000
    assert words[2] != 1_000_000


def test_the_line_is_low_for_a_conversion_shows_its_bits_and_is_forced_high_by_the_25th_pulse():
    bench = Ads1232Bench()
    bench.set_counts(0x123456)
    bench.wait_for_conversion()
    assert bench.chip.dout() == 0
    assert [bench.pulse() for _ in range(24)] == [int(bit) for bit in f"{0x123456:024b}"]
    assert bench.chip.dout() == 0  # 24 pulses leave the last bit
    assert bench.pulse() == 1


@pytest.mark.parametrize(
    ("part", "word"),
    # Table 8, ideal output codes: at full scale and beyond, at one count, at zero, at minus one count
    [(1.5, 0x7FFFFF), (1, 0x7FFFFF), (1 / (2**23 - 1), 1), (0, 0), (-1 / (2**23 - 1), 0xFFFFFF), (-1.5, 0x800000)],
)
def test_the_codes_are_those_of_the_table(part, word):
    bench = Ads1232Bench()
    bench.input_v["A"] = part * 0.5 * 5 / 128
    for _ in range(4):
        bench.take()
    assert bench.take() == word


@pytest.mark.parametrize(
    ("pins", "full_scale_v"), [((0, 0), 2.5), ((0, 1), 1.25), ((1, 0), 0.0390625), ((1, 1), 0.01953125)]
)
def test_the_gain_pins_choose_the_range(pins, full_scale_v):
    """+-2.5 V, +-1.25 V, +-39 mV, +-19.5 mV at a reference of 5 V; levels of the pins M."""
    bench = Ads1232Bench()
    bench.chip.set_gain(*pins)
    bench.input_v["A"] = full_scale_v / 2
    for _ in range(4):
        bench.take()
    assert bench.take() == round((2**23 - 1) / 2)


def test_the_speed_pin_chooses_the_rate():
    bench = Ads1232Bench(10)
    bench.take()
    bench.chip.set_speed(1)
    bench.take()
    before_ns = bench.clock.now_ns
    bench.take()
    assert bench.clock.now_ns - before_ns == pytest.approx(12.5 * MS, abs=0.05 * MS)


@pytest.mark.parametrize(("rate_sps", "noise_nv"), [(10, 17), (80, 44)])
def test_the_input_noise_is_17_and_44_nv_rms(rate_sps, noise_nv):
    """Noise at gain 128; one count is 2.328307 nV. The standard error of 4000 samples is 1.1 %."""
    bench = Ads1232Bench(rate_sps, RandomNumbers(1))
    counts = [bench.take() for _ in range(4004)][4:]
    signed = [one - (one >> 23 << 24) for one in counts]
    assert statistics.stdev(signed) * 2.328307 == pytest.approx(noise_nv, rel=0.035)


@pytest.mark.parametrize(("rate_sps", "calibration_ms"), [(10, 801), (80, 101)])
def test_the_26th_pulse_starts_a_calibration_of_the_offset(rate_sps, calibration_ms):
    """M: the 26th, 801 ms and 101 ms."""
    bench = Ads1232Bench(rate_sps, offset_v=1000 * 2.328307e-9)
    bench.set_counts(500_000)
    assert bench.take(25) == 501_000
    assert bench.take(26) == 501_000
    started_ns = bench.clock.now_ns
    assert bench.chip.dout() == 1
    assert bench.take(25) == 500_000
    assert bench.clock.now_ns - started_ns == pytest.approx(calibration_ms * MS, abs=0.1 * MS)
    assert bench.take(25) == 500_000


def test_power_down_forgets_the_calibration():
    bench = Ads1232Bench(offset_v=1000 * 2.328307e-9)
    bench.take(26)
    assert bench.take() == 0
    bench.chip.set_pdwn(0)
    bench.clock.now_ns += 3000 * MS
    assert bench.chip.dout() == 1
    bench.chip.set_pdwn(1)
    assert change_in_ms(bench) == pytest.approx(401, abs=0.1)
    assert bench.take() == 1000


def test_sclk_high_when_a_conversion_ends_is_standby_until_it_is_low():
    """Standby mode: M. Here it is the 25th pulse that stays high."""
    bench = Ads1232Bench()
    bench.take(24)
    bench.chip.set_clock(1)
    bench.clock.now_ns += 150 * MS
    assert change_in_ms(bench) == 100  # it does not convert
    bench.chip.set_clock(0)
    assert bench.chip.dout() == 1
    assert change_in_ms(bench) == pytest.approx(401, abs=0.1)


def test_a_conversion_that_ends_replaces_the_one_being_clocked_out():
    """The data must be retrieved before new data are updated, or else they are overwritten."""
    bench = Ads1232Bench()
    bench.set_counts(0)
    bench.wait_for_conversion()
    bits = [bench.pulse() for _ in range(10)]
    bench.set_counts(-1)
    bench.chip._converter.settle(-1 / (2**23 - 1))
    bench.wait_for_conversion()
    assert bits + [bench.pulse() for _ in range(14)] == [0] * 10 + [1] * 14
    assert bench.chip.timing_violations == 0


def test_the_line_is_high_while_the_result_is_updated_and_must_not_be_clocked():
    """39 us: M."""
    bench = Ads1232Bench()
    bench.wait_for_conversion()
    assert bench.chip.dout() == 0
    bench.clock.now_ns = bench.chip.next_change_ns()
    assert bench.chip.dout() == 1
    bench.pulse()
    assert bench.chip.timing_violations == 1


@pytest.mark.parametrize(("width_ns", "violations"), [(99, 2), (100, 0)])
def test_sclk_is_high_and_low_for_100_ns_at_least(width_ns, violations):
    """M; [V] for the sibling ADS1225, SBAS346, table 5."""
    bench = Ads1232Bench()
    bench.take()
    bench.chip.set_clock(1)
    bench.clock.now_ns += width_ns
    bench.chip.set_clock(0)
    bench.clock.now_ns += width_ns
    bench.chip.set_clock(1)
    assert bench.chip.timing_violations == violations
