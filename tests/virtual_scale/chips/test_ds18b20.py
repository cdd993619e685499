"""The DS18B20 model against its datasheet (Maxim), through a wire as MicroPython's onewire.OneWire drives it."""

import pytest

from tests.firmware.datasheet_tables import TEMPERATURE_CODES
from virtual_scale.chips.ds18b20 import Ds18b20, crc8
from virtual_scale.clock import VirtualClock
from virtual_scale.pins import OneWire

MS = 1_000_000
READ_ROM, SKIP_ROM, CONVERT_T, WRITE_SCRATCHPAD, READ_SCRATCHPAD = 0x33, 0xCC, 0x44, 0x4E, 0xBE
# Scratchpads with their CRC: after power-up, recomputed; and a dump of a real part at 25.5 C.
POWER_ON = bytes.fromhex("50054B467FFF0C101C")
AT_25_5_C = bytes.fromhex("98014B467FFF081022")


class Bench:
    def __init__(self, temperature_c=20.0):
        self.clock = VirtualClock()
        self.temperature_c = temperature_c
        self.chip = Ds18b20(self.clock, lambda: self.temperature_c)
        self.wire = OneWire(self.clock, self.chip)

    def command(self, *values):
        assert self.wire.reset()
        for byte in (SKIP_ROM, *values):
            self.wire.writebyte(byte)

    def scratchpad(self):
        self.command(READ_SCRATCHPAD)
        return bytes(self.wire.readbyte() for _ in range(9))

    def convert(self):
        self.command(CONVERT_T)
        while self.wire.readbyte() != 0xFF:
            pass


def test_the_crc_is_crc_8_maxim():
    """Check value: "Catalogue of parametrised CRC algorithms"; a ROM: example of application note 27, from memory."""
    assert crc8(b"123456789") == 0xA1
    assert crc8(bytes.fromhex("021CB801000000")) == 0xA2
    assert (crc8(POWER_ON), crc8(AT_25_5_C)) == (0, 0)


def test_after_power_up_the_scratchpad_says_85_c():
    assert Bench().scratchpad() == POWER_ON


def test_a_conversion_gives_the_scratchpad_of_a_real_part():
    bench = Bench(25.5)
    bench.convert()
    assert bench.scratchpad() == AT_25_5_C


@pytest.mark.parametrize(("code", "temperature_c"), TEMPERATURE_CODES)
def test_temperatures_are_coded_as_in_the_table(code, temperature_c):
    bench = Bench(temperature_c)
    bench.convert()
    assert int.from_bytes(bench.scratchpad()[:2], "little") == code


@pytest.mark.parametrize(("sensed_c", "shown"), [(130.0, 125 * 16), (-60.0, -55 * 16), (20.03, 320), (20.04, 321)])
def test_it_measures_from_minus_55_to_125_c_in_sixteenths(sensed_c, shown):
    bench = Bench(sensed_c)
    bench.convert()
    assert int.from_bytes(bench.scratchpad()[:2], "little", signed=True) == shown


@pytest.mark.parametrize(
    ("configuration", "conversion_ms", "shown"),
    [(0x1F, 93.75, 20.5), (0x3F, 187.5, 20.75), (0x5F, 375, 20.875), (0x7F, 750, 20.9375)],
)
def test_fewer_bits_take_less_time(configuration, conversion_ms, shown):
    """9 to 12 bits, 93.75 to 750 ms at most: datasheet, table "Thermometer Resolution Configuration"."""
    bench = Bench(20.94)
    bench.command(WRITE_SCRATCHPAD, 1, 2, configuration)
    bench.command(CONVERT_T)
    started_ns = bench.clock.now_ns
    while bench.wire.readbyte() != 0xFF:
        pass
    assert bench.clock.now_ns - started_ns == pytest.approx(conversion_ms * MS, abs=1.1 * MS)
    assert int.from_bytes(bench.scratchpad()[:2], "little") / 16 == shown


def test_the_limits_and_the_resolution_are_written_and_forgotten_without_supply():
    bench = Bench()
    bench.command(WRITE_SCRATCHPAD, 0x11, 0x22, 0x3F, 0x44)
    assert bench.scratchpad()[2:5] == bytes([0x11, 0x22, 0x3F])
    bench.chip.power_up()
    assert bench.scratchpad() == POWER_ON


def test_it_tells_its_code_and_listens_only_where_it_was_addressed():
    bench = Bench()
    bench.wire.reset()
    bench.wire.writebyte(READ_ROM)
    rom = bytes(bench.wire.readbyte() for _ in range(8))
    assert (rom[0], crc8(rom)) == (0x28, 0)  # family code: datasheet, "64-bit lasered ROM code"
    bench.wire.reset()
    bench.wire.writebyte(0x55)  # another part is addressed
    bench.wire.writebyte(CONVERT_T)
    assert bench.wire.readbyte() == 0xFF


def test_a_wire_without_a_chip_does_not_answer():
    wire = OneWire(VirtualClock())
    assert not wire.reset()
    wire.writebyte(SKIP_ROM)
    assert wire.readbyte() == 0xFF
