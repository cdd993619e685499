"""How long the journal takes to append, to verify and to be read, beside the bare work that it cannot do without.

    python benchmarks/journal.py [FOLDER]

Appending is compared with writing and synchronising the same bytes to a plain file in the same folder; verifying, with
hashing the same bytes, entry by entry, from memory. Verifying also proves that each entry is found by kind and job, and
says how much of that is the chain alone. The times depend on the machine; the ratios are what to watch.
"""

import gc
import hashlib
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from scalewright.records import chain
from scalewright.records.journal import Journal
from scalewright.records.schema import add

APPENDED = 500
SIZES = (1_000, 10_000, 100_000)
SCALES = 40
ANSWERS = 22  # of one job at an invented bench
AT = "2031-05-04T12:30:00.000000Z"
DEVICE = {"model": "PLOVER", "serial_number": "0007", "firmware": "0.1.0", "coefficients": "5a3c9d21", "events": 12}
ANSWER: dict[str, object] = {
    "request": {
        "is": "TakeStillReadings",
        "number": 16,
        "timeout_s": "60",
        "expected": {"is": "Expected", "load_g": "1500"},
    },
    "answer": {
        "is": "StillReading",
        "counts": [8_388_000 + 37 * i % 101 for i in range(16)],
        "indication_g": "1500.0",
        "temperature_c": 21.5,
        "noise_counts": 23.71,
        "seconds": 4.125,
        "flags": 0,
    },
}


def laboratory(number: int) -> Iterator[tuple[str, str, dict[str, object]]]:
    """So many entries of an invented laboratory: kind, job, body."""
    job = 0
    while True:
        scale = f"plover-{job % SCALES}"
        if job < SCALES or job % 20 == 0:
            register = {"serial_number": f"{job % SCALES:04}", "max_g": "3000", "interval_months": 12}
            yield "register.scale", scale, {"key": scale, **register}
        name = f"20310504T123000Z-{job:08x}"
        yield "job.begun", name, {"procedure": "Calibration", "device": DEVICE, "circumstances": {"scale": scale}}
        for i in range(ANSWERS):
            yield "job.answer", name, {**ANSWER, "n": i}
        yield "job.ended", name, {"passed": True, "device": DEVICE, "outcomes": [{"error_g": "0.1"}] * 8}
        job += 1


def filled(path: Path, number: int) -> Journal:
    """A journal of so many entries, written in large transactions."""
    journal = Journal(path)
    rows, last = [], bytes(32)
    for seq, (kind, job, body) in zip(range(1, number + 1), laboratory(number), strict=False):
        rows.append(chain.link(last, seq, chain.Content(AT, kind, job, chain.canonical(body))))
        last = rows[-1][2]
    with journal.store.transaction(writes=True) as connection:
        add(connection, rows, None)
    return journal


def shortest_s(*works: Callable[[], Any], turns: int = 15) -> list[float]:
    """Return the shortest time in seconds of each of several works, done turn by turn on the same busy machine."""
    shortest = [float("inf")] * len(works)
    for _ in range(turns):
        for i, work in enumerate(works):
            begun = time.perf_counter()
            work()
            shortest[i] = min(shortest[i], time.perf_counter() - begun)
    return shortest


def append_and_synchronise(journal: Journal, plain: Path) -> tuple[float, float]:
    """Return the seconds for APPENDED entries in the journal and in a plain file, turn by turn on the same disk."""
    append_s = synchronise_s = 0.0
    with open(plain, "ab", buffering=0) as file:
        for _ in range(APPENDED):
            begun = time.perf_counter()
            entry = journal.append("job.answer", "bench-7", ANSWER)
            appended = time.perf_counter()
            file.write(entry.body_json.encode() + bytes(100))
            os.fsync(file.fileno())
            append_s += appended - begun
            synchronise_s += time.perf_counter() - appended
    return append_s, synchronise_s


def verify_beside_hashing(journal: Journal) -> None:
    hashed = [entry for _, entry, _ in journal.rows()]
    gc.freeze()
    hash_s, verify_s = shortest_s(lambda: [hashlib.sha256(entry).digest() for entry in hashed], journal.verify)
    print(
        f"verify {len(hashed):7} entries of {sum(map(len, hashed)) // len(hashed)} bytes {verify_s * 1e3:8.1f} ms, "
        f"{verify_s / len(hashed) * 1e6:5.2f} us each   hash the same bytes {hash_s * 1e3:7.1f} ms   "
        f"ratio {verify_s / hash_s:5.2f}"
    )


def read(journal: Journal, number: int) -> None:
    """Print the milliseconds of what screens ask for."""
    middle = journal.jobs()[len(journal.jobs()) // 2]
    asked: dict[str, Callable[[], Any]] = {
        "newest entry of each scale": lambda: list(journal.latest("register.scale")),
        "entries of one job": lambda: list(journal.entries(job=middle)),
        "jobs of one scale": lambda: list(journal.entries(kind="job.begun", mentions="plover-7")),
        "ends of all jobs": lambda: list(journal.entries(kind="job.ended")),
        "newest end of each job": lambda: list(journal.latest("job.ended")),
        "names of jobs": journal.jobs,
        "newest 50": lambda: journal.newest(50),
        "newest 50 registers": lambda: journal.newest(50, kind="register."),
        "count of answers": lambda: journal.count(kind="job.answer"),
    }
    for what, time_s in zip(asked, shortest_s(*asked.values(), turns=5), strict=True):
        print(f"read {number:9}: {what:27}{time_s * 1e3:8.2f} ms")


def main(folder: Path) -> None:
    with Journal(folder / "appended.sqlite") as journal:
        append_s, synchronise_s = append_and_synchronise(journal, folder / "plain")
    print(
        f"append {append_s / APPENDED * 1e3:8.2f} ms an entry   write and synchronise the same bytes "
        f"{synchronise_s / APPENDED * 1e3:8.2f} ms   ratio {append_s / synchronise_s:5.2f}"
    )
    for number in SIZES:
        with filled(folder / f"{number}.sqlite", number) as journal:
            verify_beside_hashing(journal)
            read(journal, number)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as temporary:
        main(Path(temporary))
