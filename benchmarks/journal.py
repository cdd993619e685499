"""How long the journal takes to append and to verify, beside the bare work that each cannot do without.

    python benchmarks/journal.py [FOLDER]

Appending is compared with writing and synchronising the same bytes to a plain file in the same folder; verifying, with
hashing the same bytes, entry by entry. The times depend on the disk; the ratios are what to watch.
"""

import hashlib
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from scalewright.records.journal import Entry, Journal

NUMBER = 1000
ANSWER: dict[str, object] = {
    "request": {"is": "TakeStillReadings", "number": 8, "timeout_s": 60},
    "answer": {"counts": [8_388_000 + i for i in range(8)], "indication_g": "100.00", "temperature_c": 21.5},
}


def shortest_s(work: Callable[[], Any]) -> float:
    """Return the shortest time in seconds of several."""
    times = []
    for _ in range(20):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def append_and_synchronise(journal: Journal, plain: Path) -> tuple[float, float]:
    """Return the seconds for NUMBER entries in the journal and in a plain file, turn by turn on the same busy disk."""
    append_s = synchronise_s = 0.0
    with open(plain, "ab", buffering=0) as file:
        for _ in range(NUMBER):
            begun = time.perf_counter()
            entry = journal.append("job.answer", "bench-7", ANSWER)
            appended = time.perf_counter()
            file.write(hashed(entry))
            os.fsync(file.fileno())
            append_s += appended - begun
            synchronise_s += time.perf_counter() - appended
    return append_s, synchronise_s


def hashed(entry: Entry) -> bytes:
    text = f'[{entry.seq},"{entry.at}","{entry.kind}","{entry.job}",{entry.body_json}]'
    return bytes.fromhex(entry.previous) + text.encode()


def main(folder: Path) -> None:
    with Journal(folder / "journal.sqlite") as journal:
        append_s, synchronise_s = append_and_synchronise(journal, folder / "plain")
        verify_s = shortest_s(journal.verify)
        texts = [hashed(entry) for entry in journal.entries()]
    hash_s = shortest_s(lambda: [hashlib.sha256(text).digest() for text in texts])
    print(f"{NUMBER} entries of {sum(map(len, texts)) // NUMBER} hashed bytes, in {folder}")
    for work, work_s, bare, bare_s in (
        ("append", append_s, "write and synchronise the same bytes", synchronise_s),
        ("verify", verify_s, "hash the same bytes, entry by entry", hash_s),
    ):
        print(f"{work} {work_s * 1e3:8.1f} ms   {bare:37}{bare_s * 1e3:8.1f} ms   ratio {work_s / bare_s:5.2f}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as temporary:
        main(Path(temporary))
