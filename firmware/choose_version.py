"""Scalewright's main.py in a board's first folder: runs the newest whole version of the two that the board holds.

Each version has a folder, and in it `installed.txt`, written last: a sequence number, the version, the board it is for,
a digest of its files, and the CRC-32 of these four. The folder with the highest number is the one in use, and an
installation writes to the other only. So one that is cut short leaves in use what was.
"""

import os
import sys
from binascii import crc32


def sequence_in(folder):
    """Return the sequence number of the version in a folder, 0 where there is no whole one."""
    try:
        with open(folder + "/installed.txt", "rb") as file:
            text, _, check = file.read().strip().rpartition(b" ")
        return int(text.split(b" ")[0]) if int(check, 16) == crc32(text) else 0
    except (OSError, ValueError):
        return 0


here = os.getcwd().rstrip("/")  # "/flash" on STM32 boards, "/" on others
sequence, newest = max([(sequence_in(folder), folder) for folder in (here + "/version_a", here + "/version_b")])
if sequence:
    sys.path.insert(0, newest)
    import main  # noqa: F401  runs until it is interrupted
else:
    print("No whole version of Scalewright is on this board: scalewright install --port PORT")
