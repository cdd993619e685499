"""The NAU7802 driver against the register-level model of the chip, which is written from the data sheet."""

import pytest

from scalewright_device.adc.nau7802 import GAINS, RATES, REGULATOR_MV
from tests.firmware.datasheet_tables import SIGNED_CODES
from tests.on_micropython.runtimes import UnixPort
from tests.virtual_scale.chip_bench import Nau7802Bench

CTRL1, CTRL2, OCAL1 = 0x01, 0x02, 0x03
CALS, CAL_ERR = 0x04, 0x08


def end_calibration(bench):
    while bench.read(CTRL2) & CALS:
        bench.clock.now_ns = bench.chip.next_change_ns()


def next_reading(bench, driver):
    while not driver.is_ready():
        bench.clock.now_ns = max(bench.chip.next_change_ns(), bench.clock.now_ns)
    return driver.read()


def settled_reading(bench, driver):
    return [next_reading(bench, driver) for _ in range(driver.settling_readings + 1)][-1]


@pytest.mark.parametrize("counts", SIGNED_CODES)
def test_every_code_of_the_table_is_read_with_its_sign(counts):
    bench = Nau7802Bench()
    bench.set_counts(counts)
    driver = bench.driver()
    assert settled_reading(bench, driver) == counts
    assert driver.is_valid


@pytest.mark.parametrize("rate_sps", RATES)
@pytest.mark.parametrize("gain", [1, 128])
@pytest.mark.parametrize("regulator_mv", [2400, 4500])
def test_rate_gain_and_regulator_are_those_asked_for(rate_sps, gain, regulator_mv):
    bench = Nau7802Bench()
    bench.input_v["A"] = 0.25 * 0.5 * regulator_mv / 1000 / gain
    driver = bench.driver(rate_sps=rate_sps, gain=gain, regulator_mv=regulator_mv)
    assert settled_reading(bench, driver) == 2**21
    started_ns = bench.clock.now_ns
    for _ in range(10):
        next_reading(bench, driver)
    assert bench.clock.now_ns - started_ns == pytest.approx(10_000_000_000 // rate_sps, abs=1_000_000)


def test_the_codes_of_the_registers_are_distinct_and_within_their_bits():
    assert sorted(GAINS.values()) == sorted(REGULATOR_MV.values()) == list(range(8))
    assert set(RATES.values()) == {0, 1, 2, 3, 7}


@pytest.mark.parametrize(("has_filter", "power"), [(False, 0x00), (True, 0x80)])
def test_the_chopper_is_off_and_the_filter_as_wired(has_filter, power):
    """REG_CHPS and PGA_CAP_EN: from memory of the data sheet."""
    bench = Nau7802Bench()
    bench.driver(has_filter=has_filter)
    assert bench.read(0x15) & 0x30 == 0x30
    assert bench.read(0x1C) == power


def test_the_first_conversion_starts_the_calibration_of_the_offset():
    bench = Nau7802Bench(offset_v=2e-6)
    bench.set_counts(100_000)
    driver = bench.driver()
    first = next_reading(bench, driver)
    assert bench.read(CTRL2) & CALS
    bench.clock.now_ns += 1_000_000
    assert not driver.is_ready()  # it calibrates
    assert [next_reading(bench, driver) for _ in range(6)][4:] == [100_000] * 2
    assert first != 100_000
    assert bench.read(OCAL1, 3) == 1432


def test_a_calibration_error_makes_readings_invalid_until_the_next_start():
    """CAL_ERR stays until a reset or a valid calibration: section 8.6.3."""
    bench = Nau7802Bench()
    driver = bench.driver()
    settled_reading(bench, driver)
    bench.write(CTRL2, CALS | 3)  # of the gain, with no load on the scale
    end_calibration(bench)
    assert bench.read(CTRL2) & CAL_ERR
    next_reading(bench, driver)
    assert not driver.is_valid
    driver.restart()
    next_reading(bench, driver)
    assert driver.is_valid


def test_a_conversion_that_ends_while_the_one_before_is_read_is_read_instead():
    """Between two bytes, else 0x00FFFF and 0x010000 could make 0x000000 or 0x01FFFF."""
    for early_us in range(0, 400, 7):
        bench = Nau7802Bench()
        bench.set_counts(0x00FFFF)
        driver = bench.driver()
        settled_reading(bench, driver)
        bench.clock.now_ns = bench.chip.next_change_ns()
        bench.chip.catch_up()
        bench.set_counts(0x010000)
        bench.chip._converter.settle(0x010000 / 2**23)
        bench.clock.now_ns = bench.chip.next_change_ns() - early_us * 1000
        assert driver.is_ready()
        assert driver.read() in (0x00FFFF, 0x010000)


def test_a_chip_that_is_not_there_is_never_ready_and_one_that_comes_is_found_by_a_restart():
    bench = Nau7802Bench()
    bench.wiring.fault = "STUCk"
    driver = bench.driver()
    bench.clock.now_ns += 1_000_000_000
    assert not driver.is_ready()
    bench.wiring.fault = "NONE"
    assert not driver.is_ready()
    driver.restart()
    bench.set_counts(5)
    assert settled_reading(bench, driver) == 5


def test_a_chip_that_lost_its_supply_is_silent_until_it_is_started_anew():
    bench = Nau7802Bench()
    bench.set_counts(4321)
    driver = bench.driver()
    settled_reading(bench, driver)
    bench.chip.power_up()
    bench.clock.now_ns += 1_000_000_000
    assert not driver.is_ready()
    driver.restart()
    assert settled_reading(bench, driver) == 4321


def test_a_line_that_breaks_while_a_result_is_read_makes_it_invalid():
    bench = Nau7802Bench()
    driver = bench.driver()
    settled_reading(bench, driver)
    bench.clock.now_ns = bench.chip.next_change_ns()
    assert driver.is_ready()
    bench.wiring.fault = "STUCk"
    driver.read()
    assert not driver.is_valid


def test_a_chip_of_another_revision_is_left_alone():
    """Revision code 0x0F: from memory of the data sheet."""
    bench = Nau7802Bench()
    power_up = bench.chip.power_up

    def power_up_as_another():
        power_up()
        bench.chip.registers[0x1F] = 0x01

    bench.chip.power_up = power_up_as_another
    driver = bench.driver()
    bench.clock.now_ns += 1_000_000_000
    assert not driver.is_ready()
    assert bench.read(CTRL1) == 0


HEAP_CHECK = """
import micropython
from scalewright_device.adc.nau7802 import Nau7802

class I2c:
    status = 0x08
    def readfrom_mem_into(self, address, register, buffer):
        for k in range(len(buffer)):
            buffer[k] = 0xff
        if register == 0:
            buffer[0] = self.status
            if len(buffer) > 2:
                buffer[2] = 0
    def writeto_mem(self, address, register, buffer):
        pass

class Clock:
    def sleep_us(self, microseconds):
        pass

def check(i2c):
    driver = Nau7802(i2c, Clock())
    i2c.status = 0x28
    micropython.heap_lock()
    is_ready = driver.is_ready()
    counts = driver.read()
    micropython.heap_unlock()
    print(is_ready, counts, driver.is_valid)

check(I2c())
"""


def test_a_reading_takes_no_heap_on_micropython(unix_port: UnixPort):
    """With the heap locked an allocation raises MemoryError."""
    assert unix_port.run(HEAP_CHECK) == "True -1 True\n"
