"""The HX711 model against its datasheet: "24-Bit Analog-to-Digital Converter (ADC) for Weigh Scales", pages 3 to 5."""

import statistics

import pytest

from tests.virtual_scale.chip_bench import Hx711Bench
from virtual_scale.random_numbers import RandomNumbers

MS = 1_000_000


@pytest.mark.parametrize(("rate_sps", "period_ns"), [(10, 100 * MS), (80, 12_500_000)])
def test_conversions_come_at_the_output_rate(rate_sps, period_ns):
    """10 SPS and 80 SPS, page 3."""
    chip_bench = Hx711Bench(rate_sps)
    ends = []
    for _ in range(5):
        ends.append(chip_bench.chip.next_change_ns())
        chip_bench.take()
    assert ends == [period_ns * k for k in range(1, 6)]


def test_dout_is_high_until_a_conversion_waits_and_after_the_25th_pulse():
    bench = Hx711Bench()
    end_ns = bench.chip.next_change_ns()
    bench.clock.now_ns = end_ns - 1
    assert bench.chip.dout() == 1
    bench.clock.now_ns = end_ns
    assert bench.chip.dout() == 0
    assert [bench.pulse() for _ in range(25)] == [0] * 24 + [1]


def test_bits_come_most_significant_first():
    bench = Hx711Bench()
    bench.set_counts(0x123456)
    for _ in range(4):
        bench.take()
    assert bench.take() == 0x123456


@pytest.mark.parametrize(
    ("pulses", "channel", "full_scale_mv"), [(25, "A", 19.53125), (26, "B", 78.125), (27, "A", 39.0625)]
)
def test_full_scale_is_half_avdd_by_the_gain(pulses, channel, full_scale_mv):
    """+-0.5 AVDD / gain at 5 V (page 3); the datasheet rounds them to 20, 80 and 40 mV."""
    bench = Hx711Bench()
    for part, word in ((0.5, 0x400000), (-0.25, 0xE00000), (1.0, 0x7FFFFF), (-1.0, 0x800000), (-1.5, 0x800000)):
        bench.input_v[channel] = part * full_scale_mv / 1000
        for _ in range(5):
            bench.take(pulses)
        assert bench.take(pulses) == word


def test_one_count_is_2_328306_nv_at_gain_128():
    """5 V / 128 / 2**24, computed."""
    bench = Hx711Bench()
    for nanovolts, counts in ((1.164, 0), (1.165, 1), (2.328306 * 12, 12)):
        bench.input_v["A"] = nanovolts * 1e-9
        for _ in range(4):
            bench.take()
        assert bench.take() == counts


@pytest.mark.parametrize(("rate_sps", "noise_counts"), [(10, 21.47), (80, 38.65)])
def test_the_input_noise_is_50_and_90_nv_rms(rate_sps, noise_counts):
    """Page 3, at gain 128; in counts of 2.328306 nV. The standard error of 4000 samples is 1.1 %."""
    bench = Hx711Bench(rate_sps, RandomNumbers(1))
    bench.set_counts(1 << 20)
    counts = [bench.take() for _ in range(4004)][4:]
    assert statistics.stdev(counts) == pytest.approx(noise_counts, rel=0.035)
    assert statistics.mean(counts) == pytest.approx(1 << 20, abs=4 * noise_counts / 4000**0.5)


@pytest.mark.parametrize(("rate_sps", "settling_ns"), [(10, 400 * MS), (80, 50 * MS)])
def test_the_output_has_settled_after_400_and_50_ms(rate_sps, settling_ns):
    """Output settling time from power-up, page 3."""
    bench = Hx711Bench(rate_sps)
    bench.set_counts(6000000)
    words = [bench.take() for _ in range(4)]
    assert words[3] == 6000000
    assert words[2] != 6000000
    assert bench.clock.now_ns == pytest.approx(settling_ns, abs=100_000)


def test_a_new_gain_settles_in_four_conversions():
    bench = Hx711Bench()
    bench.set_counts(4000000)
    for _ in range(5):
        bench.take(25)
    bench.take(27)
    words = [bench.take(27) for _ in range(4)]
    assert words[3] == 2000000
    assert all(word > 2000000 for word in words[:3])


def test_pd_sck_high_for_more_than_60_us_powers_down_and_falls_back_to_a_128():
    """Page 5."""
    bench = Hx711Bench()
    bench.set_counts(1000000)
    for _ in range(5):
        bench.take(27)
    bench.wait_for_conversion()
    bench.pulse(high_ns=60_000)
    assert bench.chip.next_change_ns() - bench.clock.now_ns < 100 * MS  # still running
    bench.chip.set_clock(1)
    bench.clock.now_ns += 5000 * MS
    assert bench.chip.dout() == 1
    bench.chip.set_clock(0)
    assert bench.chip.dout() == 1
    assert bench.chip.next_change_ns() - bench.clock.now_ns == 100 * MS
    assert [bench.take() for _ in range(4)][3] == 1000000


def test_a_conversion_not_read_is_replaced_by_the_next():
    bench = Hx711Bench()
    bench.set_counts(111)
    for _ in range(4):
        bench.take()
    bench.wait_for_conversion()
    bench.set_counts(222)
    for _ in range(3):
        bench.wait_for_conversion()
    assert bench.take() == 222


def test_a_conversion_that_ends_during_a_frame_does_not_disturb_it():
    bench = Hx711Bench()
    bench.set_counts(0x555555)
    for _ in range(4):
        bench.take()
    bench.wait_for_conversion()
    bits = [bench.pulse() for _ in range(12)]
    bench.set_counts(0)
    bench.wait_for_conversion()
    bits += [bench.pulse() for _ in range(12)]
    assert bits == [0, 1] * 12
    bench.pulse()
    assert bench.chip.communication_errors == 0


@pytest.mark.parametrize("pulses", [1, 24, 28, 50])
def test_a_wrong_number_of_pulses_is_an_error_that_passes(pulses):
    """No fewer than 25 and no more than 27 within a conversion, page 4."""
    bench = Hx711Bench()
    bench.set_counts(1234567)
    for _ in range(4):
        bench.take()
    bench.wait_for_conversion()
    for _ in range(pulses):
        bench.pulse()
    bench.wait_for_conversion()
    bench.wait_for_conversion()
    assert bench.take() == 1234567
    assert bench.chip.communication_errors == 1


@pytest.mark.parametrize(("high_ns", "violations"), [(199, 1), (200, 0), (50_000, 0), (50_001, 1)])
def test_t3_the_high_time_is_watched(high_ns, violations):
    """0.2 us to 50 us, page 5."""
    bench = Hx711Bench()
    bench.pulse(high_ns)
    assert bench.chip.timing_violations == violations


@pytest.mark.parametrize(("low_ns", "violations"), [(199, 1), (200, 0)])
def test_t4_the_low_time_is_watched(low_ns, violations):
    """0.2 us at least, page 5."""
    bench = Hx711Bench()
    bench.pulse()
    bench.clock.now_ns += low_ns - 1000
    bench.pulse()
    assert bench.chip.timing_violations == violations
