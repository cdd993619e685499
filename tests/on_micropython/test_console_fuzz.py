"""Random and mutated console lines on MicroPython: the device answers, and changes only what a valid command asked for.

SCALEWRIGHT_FUZZ_LINES sets how many lines (20 000 in an ordinary run); the seed is fixed, so a failure comes back.
"""

import ast
import os

from tests.on_micropython.runtimes import UnixPort

LINES = int(os.environ.get("SCALEWRIGHT_FUZZ_LINES", "20000"))
SEED = 20310504
SLOWEST_LINES_PER_SECOND = 200


def test_no_line_crashes_the_device_or_changes_what_no_valid_command_asked_for(unix_port: UnixPort) -> None:
    printed = unix_port.run(
        f"from tests.on_micropython import console_fuzz\nprint(console_fuzz.run({LINES}, {SEED}))",
        timeout_s=60 + LINES / SLOWEST_LINES_PER_SECOND,
    )
    lines_per_second, saves, errors, heap_growth_bytes = ast.literal_eval(printed)
    print(f"{LINES} lines, {lines_per_second} a second, {saves} saves, {errors} errors")
    # That much of both kinds was among the lines, and nothing piles up.
    assert saves > LINES // 100
    assert errors > LINES // 4
    assert heap_growth_bytes < 16_384
