"""How long a recorded day takes through the device's own functions, beside what numpy cannot do without.

    python benchmarks/replay.py [FOLDER]

A day at 80 readings a second is replayed from a file of counts, bit for bit as the device weighed it, and compared with
reading the same file and evaluating one polynomial of the same degree with numpy.polyval: in one run, in turns, the
shortest of several times each; the file is in the system's cache, which favours numpy. Compilation is timed apart.
"""

import os
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from scalewright.analysis.compiled import IS_AVAILABLE
from scalewright.analysis.replay import Replay, replay
from shared_calc.calibration import curve_through
from shared_calc.coefficient_record import CoefficientRecord

ROWS = 86_400 * 80
PLAIN_ROWS = 100_000
TURNS = 15
SIGMA = 40  # counts


def a_day(rows: int) -> np.ndarray[Any, np.dtype[np.int32]]:
    """Return counts with white noise under loads that change every ten seconds, now and then a spike."""
    source = np.random.default_rng(1)
    levels = source.integers(1_000_000, 5_000_000, rows // 800 + 1).repeat(800)[:rows]
    spikes = np.where(source.random(rows) < 1e-4, 1_000_000, 0)
    return np.rint(levels + spikes + source.normal(0, SIGMA, rows)).astype(np.int32)


def a_record() -> CoefficientRecord:
    """Return an invented scale of Max 200 g, d = 0.1 g, with a curve of degree 3."""
    loads_mg = [0, 50_000, 100_000, 150_000, 200_000]
    counts = [1_000_000, 2_001_000, 3_000_000, 3_999_000, 5_000_000]
    return CoefficientRecord(curve_through(counts, 1, loads_mg, [1] * 5, 3, 100, 900_000, 5_200_000), 1, -1, 2000)


def seconds(work: Callable[[], object]) -> float:
    """Return how long it took."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def peak_bytes_a_row(file: Path, record: CoefficientRecord) -> float:
    """Return the most memory in use at once, for each row, while the whole file is replayed."""
    tracemalloc.start()
    replay(np.load(file), record)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / ROWS


def main(folder: Path) -> None:
    file, record = folder / "day.npy", a_record()
    np.save(file, a_day(ROWS))
    coefficients = np.array([1e-22, 1e-15, 5e-5, -50.0])
    print(f"{ROWS} rows, {os.path.getsize(file) >> 20} MiB")
    plain_s = seconds(lambda: replay(np.load(file, mmap_mode="r")[:PLAIN_ROWS], record, fast=False))
    if not IS_AVAILABLE:
        print(f"numba is not installed: {plain_s / PLAIN_ROWS * ROWS:.0f} s for the day, from {PLAIN_ROWS} rows")
        return
    compile_s = seconds(lambda: Replay(record).take([0], fast=True))
    numpy_s, replay_s = [], []
    for _ in range(TURNS):
        numpy_s.append(seconds(lambda: np.polyval(coefficients, np.load(file))))
        replay_s.append(seconds(lambda: replay(np.load(file), record)))
    print(f"read and numpy.polyval   {min(numpy_s):7.3f} s")
    print(f"read and replay          {min(replay_s):7.3f} s   ratio {min(replay_s) / min(numpy_s):.2f}   goal 3")
    print(f"compiled or loaded in    {compile_s:7.3f} s")
    print(f"not compiled             {plain_s / PLAIN_ROWS * ROWS:7.0f} s   from {PLAIN_ROWS} rows")
    print(f"memory                   {peak_bytes_a_row(file, record):7.1f} bytes a row at most")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as temporary:
        main(Path(temporary))
