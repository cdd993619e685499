"""Bytes in two slots: a write goes to the older one, so a power cut leaves the old content or the new one.

A slot is a file: sequence number, content, CRC-32 of both. Closing the file is the commit; the newest slot whose CRC
holds is the one in use. Measured on littlefs2 and FAT with the power cut at every block write.
"""

import struct

from shared_calc.crc32 import crc32

_NO_SUCH_FILE = 2  # ENOENT
SLOT_OVERHEAD = 8  # bytes of sequence number and CRC


class StorageError(Exception):
    """What was written could not be read back."""


class TwoSlots:
    """The content in use, `data` (None: none) of `size` bytes, and its `sequence` number, from two files.

    `damaged`: how many slots at the start held something that was not whole, so what is in use may not be the newest.
    """

    def __init__(self, paths, size, open_file):
        self._open = open_file
        self._slots = paths
        self._size = size
        self._current = 1
        self.sequence = 0
        self.data = None
        self.damaged = 0
        self._written = None
        for k in range(2):
            content = self._read(k)
            if self._is_whole(content):
                sequence = struct.unpack("<I", content[:4])[0]
                if sequence > self.sequence:
                    self._current, self.sequence, self.data = k, sequence, content[4:-4]
            elif content is not None:
                self.damaged += 1

    @property
    def is_damaged(self):
        return self.damaged > 0

    def save(self, data, sequence=None):
        """Store `data` and use it from now on. sequence: its number, greater than those before; the next by default.

        Raises StorageError or OSError: then the old content stays in use, and the next start finds the old or the new.
        """
        self._close()
        slot = 1 - self._current
        sequence = sequence or self.sequence + 1
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
        content that was refused over one that was stored since.
        """
        if self._written is not None:
            self._written.close()
            self._written = None

    def _read(self, slot):
        """Return what a slot holds, None where there is no such file, b"" where it cannot be read."""
        try:
            with self._open(self._slots[slot], "rb") as file:
                return file.read(self._size + SLOT_OVERHEAD + 1)
        except OSError as error:
            return None if error.errno == _NO_SUCH_FILE else b""

    def _is_whole(self, content):
        return (
            content is not None
            and len(content) == self._size + SLOT_OVERHEAD
            and struct.unpack("<I", content[-4:])[0] == crc32(content[:-4])
        )
