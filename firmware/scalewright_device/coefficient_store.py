"""Coefficients in two slots: a write goes to the older one, so a power cut leaves the old record or the new one.

A slot is a file: sequence number, coefficient record, CRC-32 of both. Closing the file is the commit; the newest slot
whose CRC holds is the one in use. Measured on littlefs2 and FAT with the power cut at every block write.
"""

import struct

from shared_calc.coefficient_record import SIZE
from shared_calc.crc32 import crc32

_SLOTS = ("coefficients_a.bin", "coefficients_b.bin")


class StorageError(Exception):
    """What was written could not be read back."""


class CoefficientStore:
    """The encoded coefficient record in use, `data` (None: none), and its `sequence` number."""

    def __init__(self, folder, open_file=open):
        self._open = open_file
        self._slots = [folder + name for name in _SLOTS]
        self._current = 1
        self.sequence = 0
        self.data = None
        for k in range(2):
            sequence, data = self._read(k)
            if data is not None and sequence > self.sequence:
                self._current, self.sequence, self.data = k, sequence, data

    def save(self, data):
        """Store an encoded record and use it from now on. Raises StorageError or OSError; then the old one stays."""
        slot = 1 - self._current
        sequence = self.sequence + 1
        content = struct.pack("<I", sequence) + data
        with self._open(self._slots[slot], "wb") as file:
            file.write(content + struct.pack("<I", crc32(content)))
        if self._read(slot) != (sequence, data):
            raise StorageError("what was written could not be read back")
        self._current, self.sequence, self.data = slot, sequence, data

    def _read(self, slot):
        """Return (sequence, data) of a slot, (0, None) where it holds nothing whole."""
        try:
            with self._open(self._slots[slot], "rb") as file:
                content = file.read(SIZE + 9)
        except OSError:
            return 0, None
        if len(content) != SIZE + 8 or struct.unpack("<I", content[-4:])[0] != crc32(content[:-4]):
            return 0, None
        return struct.unpack("<I", content[:4])[0], content[4:-4]
