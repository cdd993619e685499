"""The HX711's PIO program, run by rp2040-pio-emulator against the bit-level model of the chip, and its driver."""

import pytest

from scalewright_device.adc.hx711_pio import CYCLES_PER_SECOND, Hx711Pio, clock_out
from tests.firmware.adc.emulated_state_machine import EmulatedStateMachine
from tests.firmware.adc.pio_assembler import assemble
from tests.firmware.datasheet_tables import SIGNED_CODES
from tests.on_micropython.runtimes import UnixPort
from tests.virtual_scale.chip_bench import Hx711Bench

PROGRAM = assemble(clock_out)
CYCLE_NS = 1_000_000_000 // CYCLES_PER_SECOND


class PioBench(Hx711Bench):
    """The bench with the driver on an emulated state machine."""

    def __init__(self, pulses=25, rate_sps=80):
        super().__init__(rate_sps)
        self.state_machine = EmulatedStateMachine(PROGRAM, self.chip, self.clock, CYCLE_NS)
        self.adc = Hx711Pio(self.state_machine, pulses)

    def wait_for_conversion(self):
        """Go to where a conversion has been clocked out."""
        self.state_machine.run_until(self.chip.next_change_ns() + 200_000)


@pytest.mark.parametrize(
    ("program", "opcodes"),
    [
        # ws2812 and uart_rx of the Pico examples (Raspberry Pi), as they are printed in generated headers; from memory
        (
            lambda: (
                label("top"),  # noqa: F821
                jmp("not_x", "other").side(1)[1],  # noqa: F821
                jmp("top").side(1)[4],  # noqa: F821
                label("other"),  # noqa: F821
                nop().side(0)[4],  # noqa: F821
            ),
            [0x1122, 0x1400, 0xA442],
        ),
        (
            lambda: (wait(0, pin, 0), in_(pins, 1), wait(1, pin, 0), push(block)),  # noqa: F821
            [0x2020, 0x4001, 0x20A0, 0x8020],
        ),
    ],
)
def test_the_assembler_gives_published_opcodes(program, opcodes):
    assert assemble(program).opcodes == opcodes


def test_the_program_is_what_the_assembler_of_micropython_makes_of_it():
    """ports/rp2/modules/rp2.py of MicroPython 1.22, evaluated by hand; RP2040 Datasheet, 3.4."""
    assert PROGRAM.opcodes == [
        *(0x80A0, 0xA047, 0x2020, 0xE037, 0xB042, 0x4001),
        *(0x0044, 0xA022, 0xB042, 0x4001, 0x0048, 0x8000),
    ]
    assert (PROGRAM.wrap_target, PROGRAM.wrap_top) == (2, 11)
    assert len(PROGRAM.opcodes) <= 32  # instruction memory of one PIO: RP2040 Datasheet, 3.2


@pytest.mark.parametrize("counts", SIGNED_CODES)
def test_every_code_of_the_table_is_read_with_its_sign(counts):
    bench = PioBench()
    bench.set_counts(counts)
    assert bench.settled_reading(bench.adc) == counts
    assert bench.adc.is_valid


@pytest.mark.parametrize(("pulses", "channel", "gain"), [(25, "A", 128), (26, "B", 32), (27, "A", 64)])
def test_the_number_of_pulses_chooses_channel_and_gain_and_keeps_to_the_timing(pulses, channel, gain):
    """HX711 datasheet page 4, input selection; page 5, T3 and T4."""
    bench = PioBench(pulses)
    bench.input_v = {"A": 0.004, "B": -0.007}
    assert bench.settled_reading(bench.adc) == round(bench.input_v[channel] * gain / 5 * 2**24)
    assert (bench.chip.communication_errors, bench.chip.timing_violations) == (0, 0)


def test_conversions_that_wait_are_read_in_their_order():
    bench = PioBench()
    bench.settled_reading(bench.adc)
    for counts in (100, 200, 300):
        bench.chip._converter.settle(counts / 2**23)
        bench.set_counts(counts)
        bench.wait_for_conversion()
    assert [bench.adc.read() for _ in range(3) if bench.adc.is_ready()] == [100, 200, 300]
    assert not bench.adc.is_ready()


def test_what_a_full_fifo_held_is_of_no_one_knows_when_and_thrown_away():
    bench = PioBench()
    bench.set_counts(111)
    bench.settled_reading(bench.adc)
    for _ in range(40):
        bench.wait_for_conversion()
    bench.set_counts(222)
    bench.chip._converter.settle(222 / 2**23)
    assert bench.state_machine.rx_fifo() == 4
    assert not bench.adc.is_ready()
    assert bench.next_reading(bench.adc) == 222


def test_a_restart_forgets_what_waited_and_goes_on_with_the_same_channel():
    bench = PioBench(pulses=26)
    bench.input_v["B"] = 0.02
    bench.settled_reading(bench.adc)
    bench.wait_for_conversion()
    bench.adc.restart()
    assert not bench.adc.is_ready()
    assert bench.next_reading(bench.adc) == round(0.02 * 32 / 5 * 2**24)


@pytest.mark.parametrize("after_us", range(0, 100, 7))
def test_a_restart_in_the_middle_of_a_frame_recovers(after_us):
    bench = PioBench()
    bench.set_counts(-1193047)
    bench.settled_reading(bench.adc)
    bench.state_machine.run_until(bench.chip.next_change_ns() + after_us * 1000)
    bench.adc.restart()
    bench.wait_for_conversion()
    while bench.adc.is_ready():
        bench.adc.read()
    assert bench.settled_reading(bench.adc) == -1193047
    assert bench.adc.is_valid


def test_a_conversion_that_waited_before_the_start_does_not_hold_it_up():
    """A chip that ran on while the board was reset."""
    bench = PioBench()
    bench.set_counts(4711)
    bench.clock.now_ns += 1_000_000_000
    assert bench.chip.dout() == 0
    assert bench.settled_reading(bench.adc) == 4711


def test_a_data_line_stuck_low_gives_no_valid_frame():
    bench = PioBench()
    bench.chip.dout = lambda: 0
    bench.state_machine.run_until(bench.clock.now_ns + 150_000)
    assert bench.adc.is_ready()
    bench.adc.read()
    assert not bench.adc.is_valid


HEAP_CHECK = """
import micropython
from scalewright_device.adc.hx711_pio import Hx711Pio

class StateMachine:
    words = 0
    def active(self, is_active):
        pass
    def restart(self):
        self.words = 1
    def put(self, word):
        pass
    def rx_fifo(self):
        return self.words
    def get(self):
        self.words -= 1
        return 0x1FFFFFF

def check(driver):
    micropython.heap_lock()
    is_ready = driver.is_ready()
    counts = driver.read()
    micropython.heap_unlock()
    print(is_ready, counts, driver.is_valid)

check(Hx711Pio(StateMachine()))
"""


def test_a_reading_takes_no_heap_on_micropython(unix_port: UnixPort):
    """With the heap locked an allocation raises MemoryError."""
    assert unix_port.run(HEAP_CHECK) == "True -1 True\n"
