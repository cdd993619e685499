"""The DS18B20 against the model of the chip, and what is made of a sensor that is lost, damaged or was reset."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright_device.thermometer import Ds18b20, ProcessorSensor, crc8, rp2_sixteenths
from tests.firmware.datasheet_tables import TEMPERATURE_CODES
from tests.on_micropython.runtimes import UnixPort
from virtual_scale.chips import ds18b20
from virtual_scale.clock import VirtualClock
from virtual_scale.pins import OneWire

MS = 1_000_000


class Bench:
    """A thermometer that is asked every 12.5 ms."""

    def __init__(self, temperature_c=20.0):
        self.clock = VirtualClock()
        self.temperature_c = temperature_c
        self.chip = ds18b20.Ds18b20(self.clock, lambda: self.temperature_c)
        self.wire = OneWire(self.clock, self.chip)
        self.thermometer = Ds18b20(self.wire, self.clock)

    def wait(self, seconds):
        """Return what it says after so long."""
        end_ns = self.clock.now_ns + int(seconds * 1000 * MS)
        while self.clock.now_ns < end_ns:
            self.clock.now_ns += 12_500_000
            self.thermometer.read()
        return self.thermometer.read()


def test_the_crc_is_crc_8_maxim():
    """Check value: "Catalogue of parametrised CRC algorithms"; a ROM: example of application note 27, from memory."""
    assert crc8(b"123456789") == 0xA1
    assert crc8(bytes.fromhex("021CB801000000")) == 0xA2


@pytest.mark.parametrize("scratchpad", ["50054B467FFF0C101C", "98014B467FFF081022"])
def test_scratchpads_have_crc_0_and_with_any_bit_wrong_have_not(scratchpad):
    """After power-up, and a dump of a real part at 25.5 C."""
    good = bytes.fromhex(scratchpad)
    assert crc8(good) == 0
    for bit in range(72):
        damaged = int.from_bytes(good, "big") ^ 1 << bit
        assert crc8(damaged.to_bytes(9, "big")) != 0


@given(st.binary(max_size=40))
def test_the_crc_of_data_with_its_crc_is_0(data):
    assert crc8(data + bytes([crc8(data)])) == 0


@pytest.mark.parametrize(("code", "temperature_c"), TEMPERATURE_CODES)
def test_every_temperature_of_the_table_is_read(code, temperature_c):
    """85 C among them: here it was measured."""
    assert Bench(temperature_c).wait(2) == temperature_c * 16


def test_there_is_no_temperature_before_the_first_conversion_has_ended():
    bench = Bench()
    assert bench.thermometer.read() is None
    assert bench.wait(0.7) is None
    assert bench.wait(1) == 320


def test_no_call_takes_more_than_a_millisecond_and_the_bus_is_quiet_while_it_converts():
    bench = Bench()
    longest_ns, quiet = 0, 0
    for _ in range(400):
        bench.clock.now_ns += 5 * MS
        before_ns = bench.clock.now_ns
        bench.thermometer.read()
        longest_ns = max(longest_ns, bench.clock.now_ns - before_ns)
        quiet += bench.clock.now_ns == before_ns
    assert longest_ns <= 1 * MS
    assert quiet > 400 // 2


def test_a_change_is_followed_within_two_conversions():
    bench = Bench()
    bench.wait(3)
    bench.temperature_c = -7.0
    assert bench.wait(2.5) == -7 * 16


def test_the_85_c_of_power_up_is_never_believed():
    """Whenever the supply fails; 0x0550 with no conversion behind it."""
    for after_ms in range(0, 1200, 13):
        bench = Bench()
        bench.wait(3)
        bench.wait(after_ms / 1000)
        bench.chip.power_up()
        assert all(bench.wait(0.012) == 320 for _ in range(120))


def test_a_chip_that_missed_the_command_to_convert_is_not_believed():
    bench = Bench()
    take = bench.chip._take
    bench.chip._take = lambda byte: take(0x00 if byte == ds18b20.CONVERT_T else byte)
    assert bench.wait(5) is None


def test_a_sensor_that_is_lost_is_reported_within_ten_seconds_and_found_again():
    bench = Bench()
    bench.wait(3)
    bench.wire.chip = None
    assert bench.wait(8) == 320
    assert bench.wait(3) is None
    assert bench.wait(60) is None
    bench.wire.chip = bench.chip
    assert bench.wait(2) == 320


def test_a_wire_that_is_shorted_is_no_temperature():
    """All bits 0 have a good CRC and would be 0 C."""

    class Shorted:
        def reset(self):
            return True

        def writebyte(self, byte):
            pass

        def readbyte(self):
            return 0

    bench = Bench()
    bench.thermometer = Ds18b20(Shorted(), bench.clock)
    assert bench.wait(5) is None


def test_a_damaged_scratchpad_is_read_again():
    bench = Bench(21.0)
    readbyte = bench.wire.readbyte
    reads = []

    def damaged():
        reads.append(readbyte())
        return reads[-1] ^ (0x10 if len(reads) == 3 else 0)

    bench.wire.readbyte = damaged
    assert bench.wait(1.3) is None
    assert bench.wait(1.3) == 336


def test_the_sensor_of_the_processor_is_smoothed():
    samples = [400] + [480] * 1000
    sensor = ProcessorSensor(lambda: samples.pop(0))
    followed = [sensor.read() for _ in range(600)]
    assert followed[0] == 401
    assert followed == sorted(followed)
    assert abs(followed[63] - (480 - 80 * (1 - 1 / 64) ** 64)) <= 1  # a first-order lag of 64 samples
    assert followed[-1] == 480


@given(st.integers(0, 65535))
def test_the_formula_of_the_rp2_is_met_to_a_sixteenth_over_the_range_of_the_part(level):
    """RP2040 Datasheet, 4.9.5: T = 27 - (V - 0.706) / 0.001721; from memory. -40 to 85 C."""
    volts = Fraction(level * 33, 655350)
    exact_c = 27 - (volts - Fraction("0.706")) / Fraction("0.001721")
    if -40 <= exact_c <= 85:
        assert abs(rp2_sixteenths(level) - 16 * exact_c) <= 1


def test_the_arithmetic_of_the_rp2_stays_within_small_integers():
    assert 65535 * 12891 < 1 << 30
    assert rp2_sixteenths(65535) < 0 < rp2_sixteenths(0)


HEAP_CHECK = """
import micropython
from scalewright_device.thermometer import Ds18b20, ProcessorSensor
from virtual_scale.chips.ds18b20 import crc8

class Wire:
    data = bytes([0x91, 0x01, 0x53, 0x57, 0x7f, 0xff, 0x0f, 0x10])
    def __init__(self):
        self.data += bytes([crc8(self.data)])
        self.k = -1
    def reset(self):
        return True
    def writebyte(self, byte):
        pass
    def readbyte(self):
        self.k += 1
        return 0 if self.k == 0 else self.data[self.k - 1]

class Clock:
    def __init__(self):
        self.now = 0
    def ticks_ms(self):
        self.now += 100
        return self.now
    def ticks_diff(self, end, start):
        return end - start

def check(sensor, calls):
    micropython.heap_lock()
    for k in range(calls):
        temperature = sensor.read()
    micropython.heap_unlock()
    print(temperature)

check(Ds18b20(Wire(), Clock()), 32)
check(ProcessorSensor(lambda: 400), 2)
"""


def test_reading_takes_no_heap_on_micropython(unix_port: UnixPort):
    """A whole measurement; with the heap locked an allocation raises MemoryError."""
    assert unix_port.run(HEAP_CHECK) == "401\n400\n"
