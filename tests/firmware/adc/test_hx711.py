"""The HX711 drivers against the bit-level model of the chip, which is written from the datasheet and not from them."""

import pytest

from tests.firmware.datasheet_tables import SIGNED_CODES
from tests.on_micropython.runtimes import UnixPort
from tests.virtual_scale.chip_bench import Hx711Bench

both_drivers = pytest.mark.parametrize("kind", ["spi", "pins"])


@both_drivers
@pytest.mark.parametrize("counts", SIGNED_CODES)
def test_every_code_of_the_table_is_read_with_its_sign(kind, counts):
    bench = Hx711Bench()
    bench.set_counts(counts)
    driver = bench.driver(kind)
    assert bench.settled_reading(driver) == counts
    assert driver.is_valid


@both_drivers
@pytest.mark.parametrize(("pulses", "channel", "gain"), [(25, "A", 128), (26, "B", 32), (27, "A", 64)])
def test_the_number_of_pulses_chooses_channel_and_gain_of_what_follows(kind, pulses, channel, gain):
    """Datasheet page 4, table of pulses and input selection."""
    bench = Hx711Bench()
    bench.input_v = {"A": 0.004, "B": -0.007}
    driver = bench.driver(kind, pulses)
    assert bench.settled_reading(driver) == round(bench.input_v[channel] * gain / 5 * 2**24)
    assert driver.is_valid
    assert (bench.chip.communication_errors, bench.chip.timing_violations) == (0, 0)


@both_drivers
def test_a_conversion_is_ready_once(kind):
    bench = Hx711Bench()
    driver = bench.driver(kind)
    assert not driver.is_ready()
    bench.wait_for_conversion()
    assert driver.is_ready()
    assert driver.is_ready()  # asking does not clock anything
    driver.read()
    assert not driver.is_ready()


@both_drivers
@pytest.mark.parametrize(("volts", "counts"), [(0.02, 0x7FFFFF), (-0.02, -0x800000)])
def test_an_input_beyond_the_range_reads_as_its_end(kind, volts, counts):
    """Full scale is +-19.53125 mV: 0.5 AVDD / gain at 5 V and 128, datasheet page 3."""
    bench = Hx711Bench()
    bench.input_v["A"] = volts
    assert bench.settled_reading(bench.driver(kind)) == counts


@both_drivers
def test_after_the_conversions_to_discard_a_step_is_read_whole(kind):
    bench = Hx711Bench()
    driver = bench.driver(kind)
    bench.settled_reading(driver)
    bench.set_counts(1000000)
    assert bench.settled_reading(driver) == 1000000


@pytest.mark.parametrize("offset_us", range(80))
def test_an_interrupt_anywhere_in_a_frame_does_no_harm(offset_us):
    bench = Hx711Bench()
    bench.set_counts(-1193047)
    driver = bench.driver("pins")
    bench.settled_reading(driver)
    bench.wait_for_conversion()
    bench.interrupts.hold_up(bench.clock.now_ns + offset_us * 1000, 200_000)
    assert driver.read() == -1193047
    assert driver.is_valid
    assert bench.chip.timing_violations == 0


def test_a_pulse_of_51_us_makes_the_frame_invalid_and_one_of_50_us_does_not():
    """T3, PD_SCK high time: 50 us at most, datasheet page 5."""
    for held_up_us, is_valid in ((48, True), (49, False)):  # the two pin accesses take 1 us each
        bench = Hx711Bench()
        driver = bench.driver_that_leaves_interrupts_on()
        bench.settled_reading(driver)
        bench.wait_for_conversion()
        bench.interrupts.hold_up(bench.clock.now_ns, held_up_us * 1000)
        driver.read()
        assert driver.is_valid == is_valid
        assert bench.next_reading(driver) == 0
        assert driver.is_valid  # only that frame was invalid


def test_a_pulse_that_powers_the_chip_down_makes_the_frame_invalid_and_the_next_ones_unsettled():
    """More than 60 us high, datasheet page 5: the chip starts anew."""
    bench = Hx711Bench()
    bench.set_counts(500000)
    driver = bench.driver_that_leaves_interrupts_on()
    bench.settled_reading(driver)
    bench.wait_for_conversion()
    bench.interrupts.hold_up(bench.clock.now_ns + 21_500, 100_000)  # a pulse takes 3 us, its first is high
    driver.read()
    assert not driver.is_valid
    assert bench.next_reading(driver) != 500000
    assert bench.settled_reading(driver) == 500000


@both_drivers
def test_a_data_line_stuck_low_gives_no_valid_frame(kind):
    bench = Hx711Bench()
    bench.chip.dout = lambda: 0
    driver = bench.driver(kind)
    assert driver.is_ready()
    driver.read()
    assert not driver.is_valid


def test_a_data_line_stuck_high_is_never_ready():
    bench = Hx711Bench()
    bench.wiring.fault = "STUCk"
    driver = bench.driver("spi")
    bench.wait_for_conversion()
    assert not driver.is_ready()


HEAP_CHECK = """
import micropython
from scalewright_device.adc.bit_clock import PinBitClock, SpiBitClock
from scalewright_device.adc.hx711 import Hx711

class Spi:
    def write_readinto(self, sent, received):
        for k in range(len(received)):
            received[k] = 0xff

class Pin:
    def value(self, level=None):
        return 1

class Clock:
    def ticks_us(self):
        return 0
    def ticks_diff(self, end, start):
        return 0

def check(driver):
    micropython.heap_lock()
    is_ready = driver.is_ready()
    counts = driver.read()
    micropython.heap_unlock()
    print(is_ready, counts, driver.is_valid)

check(Hx711(SpiBitClock(Spi())))
check(Hx711(PinBitClock(Pin(), Pin(), Clock(), lambda: 0, lambda state: None)))
"""


def test_a_reading_takes_no_heap_on_micropython(unix_port: UnixPort):
    """With the heap locked an allocation raises MemoryError."""
    assert unix_port.run(HEAP_CHECK) == "False -1 True\n" * 2
