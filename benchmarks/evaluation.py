"""How near and how fast the device evaluates its calibration curve.

    python benchmarks/evaluation.py

Prints the worst error over every ADC count of realistic curves; the time of an evaluation beside the same Horner's rule
in ordinary big integers, and on arrays beside one in floating point; and, where they are installed, the time on the
MicroPython unix port and the instructions and heap on an emulated Cortex-M0. Watch the ratios: the times are of the
machine it runs on, the instructions are not.
"""

import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT)]

from shared_calc.curve import Curve  # noqa: E402
from tests.on_micropython.cortex_m0 import MICROSECONDS_PER_INSTRUCTION, CortexM0  # noqa: E402
from tests.on_micropython.runtimes import CORTEX_M0, UNIX_PORT, UnixPort, left_out  # noqa: E402
from tests.shared_calc.worst_error import BLOCK, CASES, horner, worst_error  # noqa: E402

CURVES = {degree: next(case for case in CASES if case.degree == degree).curve() for degree in (1, 2, 3)}

# Runs on every interpreter: microseconds a call with large counts that the curve K covers, the empty loop taken off.
TIMING = """
import time
try:
    ticks = time.ticks_us
except AttributeError:
    ticks = lambda: time.perf_counter_ns() // 1000
def nothing(n): pass
def with_big_integers(x):
    y = 0
    for c in C: y = ((y * x + 4194304) >> 23) + c
    return y
def microseconds(work, calls):
    first = K.centre + 1234567
    begun = ticks()
    for n in range(first, first + calls): work(n)
    between = ticks()
    for n in range(first, first + calls): nothing(n)
    return (between - begun - (ticks() - between)) / calls
"""


def construct(curve: Curve) -> str:
    fields = (curve.centre, curve.shift, curve.binary_exponent, curve.coefficients)
    return f"C={curve.coefficients}\nK=Curve{fields}\n"


def print_worst_errors() -> None:
    print("worst error in ADC counts            promised  found     inputs   ns each")
    for case in CASES:
        begun = time.perf_counter()
        worst = worst_error(case)
        ns = 1e9 * (time.perf_counter() - begun) / worst.evaluated
        promised = case.curve().guaranteed_parts()
        print(f"{case.name:36} 1/{promised:<6}  1/{worst.parts:<6.1f} {worst.evaluated:>9} {ns:7.0f}")


def print_array_times() -> None:
    for degree, curve in CURVES.items():
        counts = np.arange(BLOCK, dtype=np.int32)
        t = np.linspace(-1, 1, BLOCK)
        integers = shortest_s(lambda curve=curve, counts=counts: curve.evaluate(counts))
        floats = shortest_s(lambda degree=degree, t=t: horner([1.0] * (degree + 1), t))
        print(f"arrays, degree {degree}: {1e9 * integers / BLOCK:.1f} ns a count, {integers / floats:.1f} x floating")


def shortest_s(work: Callable[[], object]) -> float:
    """Return the shortest time in seconds of several."""
    times = []
    for _ in range(50):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def print_scalar_times(name: str, run: Callable[[str], str]) -> None:
    """Print microseconds an evaluation, by an interpreter that can import shared_calc."""
    for degree, curve in CURVES.items():
        measure = "print(microseconds(K.evaluate, 20000), microseconds(with_big_integers, 20000))"
        printed = run(f"from shared_calc.curve import Curve\n{TIMING}{construct(curve)}{measure}")
        split, big = map(float, printed.split())
        print(f"{name}, degree {degree}: {split:.2f} us, {split / big:.1f} x big integers")


def run_here(source: str) -> str:
    printed: list[str] = []
    exec(source, {"print": lambda *values: printed.append(" ".join(map(str, values)))})
    return printed[-1]


def print_instructions(board: CortexM0) -> None:
    board.load("curve", without=("span_of", "quantise", "check", "_flattest_slope", "guaranteed_parts"))
    board.run("import gc\n" + TIMING)
    for degree, curve in CURVES.items():
        board.run("gc.collect()\n" + construct(curve))
        figures = []
        for work in ("lambda n: evaluate(C, n)", "K.evaluate", "with_big_integers"):
            board.run(f"gc.collect()\nw={work}\ndef heap():\n m=gc.mem_alloc()\n w(1234567)\n return gc.mem_alloc()-m")
            microseconds, heap = board.run("print(microseconds(w,100),heap())").split()
            instructions = float(microseconds) / MICROSECONDS_PER_INSTRUCTION
            figures.append(f"{instructions:.0f} instructions and {heap} bytes of heap")
        evaluate, method, big = figures
        print(f"Cortex-M0, degree {degree}: {evaluate}; as Curve.evaluate {method}; in big integers {big}")


def main() -> None:
    print_worst_errors()
    print_array_times()
    print_scalar_times("CPython", run_here)
    unix_port = UNIX_PORT.command()
    if unix_port:
        print_scalar_times("MicroPython unix port", UnixPort(unix_port).run)
    cortex_m0 = CORTEX_M0.command()
    if cortex_m0:
        with closing(CortexM0(cortex_m0)) as board:
            print_instructions(board)
    for sentence in left_out():
        print(sentence)


if __name__ == "__main__":
    main()
