"""After every mishap the device answers and weighs as before: on MicroPython, with memory that really runs out."""

from tests.firmware.mishaps import MISHAPS
from tests.on_micropython.runtimes import UnixPort


def test_after_every_mishap_the_device_answers_and_weighs_as_before(unix_port: UnixPort) -> None:
    small = UnixPort([*unix_port.command, "-X", "heapsize=1m"])
    printed = small.run("from tests.firmware import mishaps\nprint('survived', mishaps.survive_each())", timeout_s=120)
    assert f"survived {len(MISHAPS)}" in printed


def test_a_turn_of_the_loop_takes_no_heap_with_a_conversion_or_without(unix_port: UnixPort) -> None:
    program = """
import gc
from tests.firmware.parts import Bench, record
bench = Bench()
bench.ask('CAL:DATA "%s"' % record(1).hex())
bench.convert(*[98100] * 300)
step = bench.device.step
def heap_of_a_turn():
    before = gc.mem_alloc()
    step()
    return gc.mem_alloc() - before
gc.collect()
gc.disable()
for _ in range(200):
    bench.clock.now_ms += 100
    bench.adc.conversions.append(98103)
    print(heap_of_a_turn(), heap_of_a_turn())
bench.console.type(b"FETC?\\n")
print(heap_of_a_turn() > 0)
"""
    lines = unix_port.run(program).splitlines()
    assert lines == ["0 0"] * 200 + ["True"]  # the measurement sees the text of an answer
