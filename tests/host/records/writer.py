"""Appends to journals until it is told to stop or is killed; started by the tests as a program of its own.

Reads lines "RECORDS NUMBER WRITERS". For each, so many processes of their own at once print "begun PID", append NUMBER
entries and print "SEQ HASH" for each one that append has returned; when all are done this program prints "ended".
"""

import os
import sys

import psycopg  # noqa: F401  loaded once here, not in every process, as what follows is
import sqlalchemy.dialects.postgresql.psycopg
import sqlalchemy.dialects.sqlite  # noqa: F401

from scalewright.records.journal import Journal


def write(records: str, number: int) -> None:
    os.write(1, f"begun {os.getpid()}\n".encode())
    with Journal(records) as journal:
        for i in range(number):
            entry = journal.append("observation", f"writer-{os.getpid()}", {"counts": i, "load_g": "100.00"})
            os.write(1, f"{entry.seq} {entry.hash}\n".encode())


for line in sys.stdin:
    records, number, writers = line.rsplit(maxsplit=2)
    for _ in range(int(writers)):
        if os.fork() == 0:
            write(records, int(number))
            os._exit(0)
    for _ in range(int(writers)):
        os.wait()
    os.write(1, b"ended\n")
