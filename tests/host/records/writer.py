"""Appends to journals until it is told to stop or is killed; started by the tests as a program of its own.

Reads lines "FILE NUMBER". For each, a process of its own prints "begun PID", appends NUMBER entries and prints
"SEQ HASH" for each one that append has returned; then this program prints "ended".
"""

import os
import sys

import sqlalchemy.dialects.sqlite  # noqa: F401  loaded once here, not in every process

from scalewright.records.journal import Journal


def write(path: str, number: int) -> None:
    os.write(1, f"begun {os.getpid()}\n".encode())
    with Journal(path) as journal:
        for i in range(number):
            entry = journal.append("observation", f"writer-{os.getpid()}", {"counts": i, "load_g": "100.00"})
            os.write(1, f"{entry.seq} {entry.hash}\n".encode())


for line in sys.stdin:
    path, number = line.rsplit(maxsplit=1)
    child = os.fork()
    if child == 0:
        write(path, int(number))
        os._exit(0)
    os.waitpid(child, 0)
    os.write(1, b"ended\n")
