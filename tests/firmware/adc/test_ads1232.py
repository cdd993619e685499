"""The ADS1232 driver against the bit-level model of the chip, which is written from the datasheet and not from it."""

import pytest

from tests.firmware.datasheet_tables import SIGNED_CODES
from tests.on_micropython.runtimes import UnixPort
from tests.virtual_scale.chip_bench import Ads1232Bench

COUNT_V = 0.5 * 5 / 128 / (2**23 - 1)

both_wirings = pytest.mark.parametrize("kind", ["spi", "pins"])


@both_wirings
@pytest.mark.parametrize("counts", SIGNED_CODES)
def test_every_code_of_the_table_is_read_with_its_sign(kind, counts):
    bench = Ads1232Bench()
    bench.set_counts(counts)
    driver = bench.driver(kind)
    assert bench.settled_reading(driver) == counts
    assert driver.is_valid
    assert bench.chip.timing_violations == 0


@both_wirings
@pytest.mark.parametrize("rate_sps", [10, 80])
def test_the_first_conversion_starts_the_calibration_of_the_offset(kind, rate_sps):
    bench = Ads1232Bench(rate_sps, offset_v=1000 * COUNT_V)
    bench.set_counts(77)
    driver = bench.driver(kind)
    assert [bench.next_reading(driver) for _ in range(3)] == [1077, 77, 77]


def test_a_restart_powers_the_chip_down_and_calibrates_it_again():
    bench = Ads1232Bench(offset_v=1000 * COUNT_V)
    driver = bench.driver("spi")
    bench.settled_reading(driver)
    driver.restart()
    assert bench.chip.next_change_ns() - bench.clock.now_ns == pytest.approx(401_000_000, abs=100_000)
    assert [bench.next_reading(driver) for _ in range(2)] == [1000, 0]


@both_wirings
def test_after_the_conversions_to_discard_a_step_is_read_whole(kind):
    bench = Ads1232Bench()
    driver = bench.driver(kind)
    bench.next_reading(driver)
    bench.set_counts(1_000_000)
    assert bench.settled_reading(driver) == 1_000_000


@both_wirings
def test_a_conversion_that_may_be_replaced_while_it_is_clocked_out_is_never_used(kind):
    """The device was busy elsewhere until just before the next conversion ends, or after."""
    before, after = 0x155555, -0x2AAAAB
    for late_us in (*range(0, 100_000, 7919), *range(99_600, 100_100, 9)):
        bench = Ads1232Bench(10)
        bench.set_counts(before)
        driver = bench.driver(kind)
        bench.settled_reading(driver)
        bench.set_counts(after)
        bench.chip._converter.settle(after / (2**23 - 1))
        bench.wait_for_conversion()
        bench.clock.now_ns += late_us * 1000
        for _ in range(400):
            if driver.is_ready():
                assert driver.read() in (before, after)
                assert driver.is_valid
            bench.clock.now_ns += 2_000_000
        assert bench.settled_reading(driver) == after


@both_wirings
def test_a_data_line_stuck_low_or_high_is_never_ready(kind):
    for level in (0, 1):
        bench = Ads1232Bench()
        bench.chip.dout = lambda level=level: level
        driver = bench.driver(kind)
        for _ in range(100):
            bench.clock.now_ns += 10_000_000
            assert not driver.is_ready()


def test_a_frame_whose_25th_bit_is_low_is_not_valid():
    bench = Ads1232Bench()
    driver = bench.driver("spi")
    bench.settled_reading(driver)
    bench.clock.now_ns += 50_000_000
    assert not driver.is_ready()
    bench.wait_for_conversion()
    assert driver.is_ready()
    bench.chip.dout = lambda: 0
    driver.read()
    assert not driver.is_valid


HEAP_CHECK = """
import micropython
from scalewright_device.adc.ads1232 import Ads1232

class Wires:
    levels = [False, True]
    is_whole = True
    def is_low(self):
        return self.levels.pop(0)
    def take(self, pulses):
        return pulses

class Clock:
    def ticks_us(self):
        return 0
    def ticks_diff(self, end, start):
        return 0
    def sleep_us(self, microseconds):
        pass

def check(driver):
    driver.is_ready()
    micropython.heap_lock()
    is_ready = driver.is_ready()
    counts = driver.read()
    micropython.heap_unlock()
    print(is_ready, counts, driver.is_valid)

check(Ads1232(Wires(), Clock()))
"""


def test_a_reading_takes_no_heap_on_micropython(unix_port: UnixPort):
    """With the heap locked an allocation raises MemoryError; that of the wires is tested with the HX711."""
    assert unix_port.run(HEAP_CHECK) == "True 26 True\n"
