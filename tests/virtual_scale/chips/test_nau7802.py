"""The NAU7802 model against its data sheet, revision 1.7; what is marked M is from memory of it."""

import statistics
from itertools import pairwise

import pytest

from tests.virtual_scale.chip_bench import Nau7802Bench
from virtual_scale.chips.nau7802 import ADCO, CTRL1, CTRL2, GCAL1, OCAL1, PU_CTRL, REVISION
from virtual_scale.random_numbers import RandomNumbers

MS = 1_000_000
RUN = 0x96  # AVDDS, CS, PUA, PUD
CALS = 0x04


def a_bench(ctrl1=0x2F, ctrl2=0x00, **options):
    """A chip that converts: regulator 3.0 V, gain 128, 10 SPS."""
    bench = Nau7802Bench(**options)
    bench.write(PU_CTRL, 0x02)
    bench.clock.now_ns += 1 * MS
    bench.write(CTRL1, ctrl1, ctrl2)
    bench.write(PU_CTRL, RUN)
    return bench


def take(bench):
    """Wait for a conversion and return it signed."""
    while not bench.read(PU_CTRL) & 0x20:
        bench.clock.now_ns = max(bench.chip.next_change_ns(), bench.clock.now_ns)
    counts = bench.read(ADCO, 3)
    return counts - (counts >> 23 << 24)


def settled(bench):
    return [take(bench) for _ in range(5)][4]


def calibrate(bench, mode):
    """Run a calibration and return CAL_ERR."""
    bench.write(CTRL2, CALS | mode)
    assert bench.read(CTRL2) & CALS
    bench.clock.now_ns = bench.chip.next_change_ns()
    assert not bench.read(CTRL2) & CALS
    return bench.read(CTRL2) >> 3 & 1


def test_after_power_up_it_is_off_with_neutral_calibration_and_says_its_revision():
    """Registers and their defaults: M."""
    bench = Nau7802Bench()
    assert bench.read(PU_CTRL) == 0
    assert bench.read(OCAL1, 3) == 0
    assert bench.read(GCAL1, 4) == 1 << 23
    assert bench.read(REVISION) & 0x0F == 0x0F
    assert bench.chip.address == 0x2A


def test_the_power_up_ready_bit_comes_200_us_after_power_up_digital():
    """M."""
    bench = Nau7802Bench()
    bench.write(PU_CTRL, 0x02)
    started_ns = bench.clock.now_ns
    while not bench.read(PU_CTRL) & 0x08:
        pass
    assert bench.clock.now_ns - started_ns == pytest.approx(200_000, abs=100_000)


@pytest.mark.parametrize("missing", [0x02, 0x04, 0x10])
def test_it_converts_only_with_both_parts_powered_and_the_cycle_started(missing):
    bench = a_bench()
    bench.write(PU_CTRL, RUN & ~missing)
    bench.clock.now_ns += 1000 * MS
    assert not bench.read(PU_CTRL) & 0x20


@pytest.mark.parametrize(("code", "rate_sps"), [(0, 10), (1, 20), (2, 40), (3, 80), (7, 320)])
def test_conversions_come_at_the_rate_chosen(code, rate_sps):
    """CRS: M."""
    bench = a_bench(ctrl2=code << 4)
    ends = []
    for _ in range(4):
        ends.append(bench.chip.next_change_ns())
        take(bench)
    assert {after - before for before, after in pairwise(ends)} == {1_000_000_000 // rate_sps}


@pytest.mark.parametrize("code", range(8))
def test_the_gain_is_a_power_of_two(code):
    """GAINS: 1 to 128; full scale is half the reference by the gain. M."""
    bench = a_bench(ctrl1=5 << 3 | code)
    bench.input_v["A"] = 0.25 * 0.5 * 3.0 / 2**code
    assert settled(bench) == 2**21


@pytest.mark.parametrize(("code", "volts"), list(enumerate((4.5, 4.2, 3.9, 3.6, 3.3, 3.0, 2.7, 2.4))))
def test_the_regulator_makes_the_reference(code, volts):
    """Eight steps of 2.4 to 4.5 V, section 3; codes M."""
    bench = a_bench(ctrl1=code << 3 | 7)
    bench.input_v["A"] = -0.5 * 0.5 * volts / 128
    assert settled(bench) == -(2**22)


def test_the_second_channel_has_its_own_input_and_calibration():
    bench = a_bench(ctrl2=0x80, offset_v=1e-5)
    bench.input_v["B"] = 0.001
    calibrate(bench, 0x80)
    assert bench.read(OCAL1, 3) == 0
    bench.write(CTRL2, 0x80)
    assert settled(bench) == pytest.approx(0.001 / (1.5 / 128) * 2**23, abs=1)


@pytest.mark.parametrize(("volts", "counts"), [(0.02, 0x7FFFFF), (-0.02, -0x800000)])
def test_an_input_beyond_the_range_reads_as_its_end(volts, counts):
    bench = a_bench()
    bench.input_v["A"] = volts
    assert settled(bench) == counts


def test_settling_takes_four_conversions():
    """Assumed."""
    bench = a_bench()
    bench.set_counts(4_000_000)
    words = [take(bench) for _ in range(4)]
    assert words[3] == 4_000_000
    assert words[2] != 4_000_000


def test_a_waiting_conversion_is_announced_until_it_is_read():
    bench = a_bench()
    bench.clock.now_ns = bench.chip.next_change_ns()
    assert bench.read(PU_CTRL) & 0x20
    assert bench.read(PU_CTRL) & 0x20
    bench.read(ADCO, 3)
    assert not bench.read(PU_CTRL) & 0x20


def test_the_offset_inside_is_calibrated_whatever_the_input_is():
    bench = a_bench(offset_v=2e-6)
    bench.set_counts(100_000)
    assert settled(bench) == 101_432  # 2 uV in 1.5 V / 128 / 2**23
    assert calibrate(bench, 0) == 0
    assert bench.read(OCAL1, 3) == 1432
    assert settled(bench) == 100_000


def test_the_output_is_gain_times_measurement_less_offset():
    """Section 8.6.1: ADC Output Value = Gain_Calibration * (ADC measurement - Offset_Calibration)."""
    bench = a_bench()
    bench.set_counts(1_000_000)
    bench.write(OCAL1, 0x00, 0x27, 0x10)
    bench.write(GCAL1, 0x00, 0xC0, 0x00, 0x00)
    assert settled(bench) == (1_000_000 - 10_000) * 3 // 2


def test_offset_and_gain_can_be_calibrated_at_the_input():
    """CALMOD 2 and 3: M."""
    bench = a_bench(offset_v=2e-6)
    bench.set_counts(50_000)
    assert calibrate(bench, 2) == 0
    assert settled(bench) == 0
    bench.set_counts(50_000 + 2**22)
    assert calibrate(bench, 3) == 0
    assert settled(bench) == 0x7FFFFF
    bench.set_counts(50_000 + 2**21)
    assert settled(bench) == pytest.approx(2**22, abs=1)


@pytest.mark.parametrize("counts", [-1000, 0, 30_000])
def test_a_gain_that_would_be_negative_or_above_256_is_an_error_until_a_good_calibration(counts):
    """Section 8.6.3."""
    bench = a_bench()
    bench.set_counts(counts)
    assert calibrate(bench, 3) == 1
    assert bench.read(GCAL1, 4) == 1 << 23
    bench.write(CTRL2, 0)
    assert bench.read(CTRL2) == 0x08  # writing does not clear it
    bench.set_counts(40_000)
    assert calibrate(bench, 3) == 0


def test_a_reset_takes_back_every_register():
    bench = a_bench()
    calibrate(bench, 3)
    bench.write(PU_CTRL, 0x01)
    assert [bench.read(register) for register in (CTRL1, CTRL2)] == [0, 0]
    assert bench.read(GCAL1, 4) == 1 << 23


@pytest.mark.parametrize(("code", "rate_sps", "noise_nv"), [(0, 10, 50), (7, 320, 280)])
def test_the_noise_is_what_is_assumed(code, rate_sps, noise_nv):
    bench = a_bench(ctrl2=code << 4, random_numbers=RandomNumbers(1))
    counts = [take(bench) for _ in range(2004)][4:]
    assert statistics.stdev(counts) * 1.5 / 128 / 2**23 == pytest.approx(noise_nv * 1e-9, rel=0.05)


def test_nothing_else_answers_on_the_bus():
    bench = Nau7802Bench()
    with pytest.raises(OSError, match="19"):
        bench.i2c.readfrom_mem_into(0x2B, 0, bytearray(1))
    bench.wiring.fault = "STUCk"
    with pytest.raises(OSError, match="19"):
        bench.read(PU_CTRL)
