"""Coefficients in two slots: a write goes to the older one, so a power cut leaves the old record or the new one.

A slot is a file: sequence number, coefficient record, CRC-32 of both. Closing the file is the commit; the newest slot
whose CRC holds is the one in use. Measured on littlefs2 and FAT with the power cut at every block write.
"""

import struct

from shared_calc.coefficient_record import SIZE
from shared_calc.crc32 import crc32

_NO_SUCH_FILE = 2  # ENOENT
_SLOTS = ("coefficients_a.bin", "coefficients_b.bin")


class StorageError(Exception):
    """What was written could not be read back."""


class CoefficientStore:
    """The encoded coefficient record in use, `data` (None: none), and its `sequence` number.

    `is_damaged`: at the start a slot held something that was not whole, so the record in use may not be the newest.
    """

    def __init__(self, folder, open_file=open):
        self._open = open_file
        self._slots = [folder + name for name in _SLOTS]
        self._current = 1
        self.sequence = 0
        self.data = None
        self.is_damaged = False
        self._written = None
        for k in range(2):
            content = self._read(k)
            if _is_whole(content):
                sequence = struct.unpack("<I", content[:4])[0]
                if sequence > self.sequence:
                    self._current, self.sequence, self.data = k, sequence, content[4:-4]
            elif content is not None:
                self.is_damaged = True

    def save(self, data):
        """Store an encoded record and use it from now on.

        Raises StorageError or OSError: then the old one stays in use, and the next start finds the old or the new one.
        """
        self._close()
        slot = 1 - self._current
        sequence = self.sequence + 1
        content = struct.pack("<I", sequence) + data
        content += struct.pack("<I", crc32(content))
        self._written = self._open(self._slots[slot], "wb")
        self._written.write(content)
        self._close()
        if self._read(slot) != content:
            raise StorageError("what was written could not be read back")
        self._current, self.sequence, self.data = slot, sequence, data

    def _close(self):
        """Close the file of this save or of one that failed.

        Left to MicroPython's garbage collector, a file that could not be closed is closed later: that would write the
        record that was refused over one that was stored since.
        """
        if self._written is not None:
            self._written.close()
            self._written = None

    def _read(self, slot):
        """Return what a slot holds, None where there is no such file, b"" where it cannot be read."""
        try:
            with self._open(self._slots[slot], "rb") as file:
                return file.read(SIZE + 9)
        except OSError as error:
            return None if error.errno == _NO_SUCH_FILE else b""


def _is_whole(content):
    return (
        content is not None
        and len(content) == SIZE + 8
        and struct.unpack("<I", content[-4:])[0] == crc32(content[:-4])
    )
