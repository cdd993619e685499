"""What can befall a device, and that it then answers and weighs as before; runs on CPython and on MicroPython.

Each mishap takes a Bench that weighs 100.0 g by record(1) and returns the one to go on with: a new one after a restart.
"""

import sys

from shared_calc.link_frame import RESYNCHRONISE
from tests.firmware.parts import EVENT_BYTES, SLOT_BYTES, Bench, record

_COUNTS = 98100  # 100.0 g by record(1)
_EIO = 5


def a_bench():
    """Return a device that has weighed 100.0 g, with the coefficients in both slots, and is sealed with its events."""
    bench = Bench(commands=[("TEST:MEMory", _exhaust_memory)])
    for _ in range(2):
        assert _store(bench, 1) == []
    bench.convert(*[_COUNTS] * 20)
    assert bench.ask("FETC?")[0].split(",")[3:] == ["100.0", "", "OK"]
    return bench


def weighs_as_before(bench):
    """Raise AssertionError unless the device answers in both forms and weighs with its last good coefficients."""
    bench.console.type(b"\n")
    bench.run()
    assert bench.ask("*OPC?") == ["1"]
    assert bench.ask_framed(RESYNCHRONISE, "*OPC?") == [(0, "1")]
    bench.convert(*[_COUNTS] * 40)
    bench.ask("*RST")
    assert bench.ask("FETC?")[0].split(",")[2:] == [str(_COUNTS), "100.0", "", "OK"]
    assert bench.ask("CAL:DATA?") == [f'"{record(1).hex()}"']


def _store(bench, number):
    return bench.ask(f'CAL:DATA "{record(number).hex()}"')


def _exhaust_memory(device, argument):
    hoard = []
    while sys.implementation.name == "micropython":
        hoard.append(bytearray(4000))
    raise MemoryError


def _make(error):
    def fail(*arguments):
        raise error

    return fail


def _fail_for_a_while(bench, part, name, error):
    """Let a method of a part raise an error for ten turns of the loop and two conversions."""
    good = getattr(part, name)
    setattr(part, name, _make(error))
    bench.adc.conversions.append(_COUNTS)
    for _ in range(10):
        bench.clock.now_ms += 200
        bench.device.step()
    bench.console.type(b"*OPC?\n")
    for _ in range(10):
        bench.clock.now_ms += 200
        bench.device.step()
    setattr(part, name, good)
    bench.run()


def full_file_system(bench):
    bench.folder.bytes_left = 0
    assert _store(bench, 2)[0].startswith("!-250,")
    weighs_as_before(bench)
    bench.folder.bytes_left = None
    return Bench(bench.folder)


def newest_coefficients_corrupt(bench):
    bench.folder.files["coefficients_b.bin"] = b"\xff" * SLOT_BYTES
    return Bench(bench.folder)


def newest_events_corrupt(bench):
    bench.folder.files["events_b.bin"] = b"\0" * EVENT_BYTES
    return Bench(bench.folder)


def all_events_corrupt(bench):
    for name in ("events_a.bin", "events_b.bin"):
        bench.folder.files[name] = bytes([7]) * EVENT_BYTES
    return Bench(bench.folder)


def adc_unplugged_and_plugged_again(bench):
    restarts = bench.adc.restarts
    for _ in range(70):
        bench.clock.now_ms += 100
        bench.run()
    assert bench.ask("FETC?")[0].split(",")[3:] == ["", "", "NO_DATA"]
    assert bench.adc.restarts >= restarts + 6
    return bench


def adc_bus_gives_no_answer(bench):
    for name in ("is_ready", "read", "restart"):
        _fail_for_a_while(bench, bench.adc, name, OSError(_EIO))
    assert bench.device.mishaps == 0  # foreseen: no data
    return bench


def adc_driver_fails(bench):
    _fail_for_a_while(bench, bench.adc, "read", ZeroDivisionError("driver"))
    assert bench.device.mishaps > 0
    assert "ZeroDivisionError" in bench.ask("SYST:ERR?")[0]
    return bench


def memory_runs_out_while_sampling(bench):
    _fail_for_a_while(bench, bench.adc, "read", MemoryError())
    assert bench.device.mishaps > 0
    assert bench.ask("SYST:ERR?") == ['-321,"Out of memory"']
    return bench


def memory_runs_out_in_a_command(bench):
    assert bench.ask("TEST:MEM") == ['!-321,"Out of memory"']
    return bench


def line_fails(bench):
    for name in ("read_byte", "write"):
        bench.ask("INIT:CONT ON")
        _fail_for_a_while(bench, bench.console, name, OSError(_EIO))
        bench.ask("INIT:CONT OFF")
    return bench


def host_vanishes_in_mid_command(bench):
    bench.console.type(b'CAL:DATA "5357')
    bench.run()
    bench.console.is_taken = False
    bench.convert(*[_COUNTS] * 50)
    bench.console.is_taken = True
    return bench


def host_vanishes_while_readings_stream(bench):
    bench.ask("INIT:CONT ON")
    bench.ask("READ?")
    bench.console.is_taken = False
    bench.convert(*[_COUNTS] * 50)
    bench.console.is_taken = True
    return bench


def garbage_at_full_speed(bench):
    """100 000 bytes, many more than 115200 baud bring in a conversion; every conversion is taken meanwhile."""
    number = bench.device.sampler.number
    state = 1
    for _ in range(500):
        noise = bytearray(200)
        for k in range(200):
            state = state * 69069 + 1 & 0xFFFFFFFF  # any generator will do
            noise[k] = state >> 24
        bench.console.type(noise)
        bench.convert(_COUNTS)
    assert bench.device.sampler.number == number + 500
    bench.console.type(b"\n*CLS\n*RST\n")
    bench.run()
    bench.console.lines()
    return bench


def brown_out_at_every_byte_of_a_save(bench):
    """The record that was in use, or where the cut came too late, the same one anew."""
    for bytes_left in range(EVENT_BYTES + SLOT_BYTES + 1):
        bench.folder.bytes_left = bytes_left
        assert _store(bench, 1)[0].startswith("!-250,")
        bench.folder.bytes_left = None
        bench = Bench(bench.folder)
        assert bench.device.store.data == record(1)
    return bench


MISHAPS = (
    full_file_system,
    newest_coefficients_corrupt,
    newest_events_corrupt,
    all_events_corrupt,
    adc_unplugged_and_plugged_again,
    adc_bus_gives_no_answer,
    adc_driver_fails,
    memory_runs_out_while_sampling,
    memory_runs_out_in_a_command,
    line_fails,
    host_vanishes_in_mid_command,
    host_vanishes_while_readings_stream,
    garbage_at_full_speed,
    brown_out_at_every_byte_of_a_save,
)


def survive_each():
    """Let each mishap befall a device of its own. Returns how many."""
    for mishap in MISHAPS:
        print(mishap)
        weighs_as_before(mishap(a_bench()))
    return len(MISHAPS)
