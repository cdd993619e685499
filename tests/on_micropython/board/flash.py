"""Runs on MicroPython: a board's flash in a file. It can note its changes, to cut the power at any of them later."""

import struct

BLOCK_BYTES = 4096
_BLOCKS, _BLOCK_BYTES, _ERASE = 4, 5, 6  # operations that MicroPython asks of a block device
_HEAD = "<II"  # of a note: place and size


class Flash:
    """A block device over an open binary file. notes: an open file that takes place, size and bytes of each change."""

    def __init__(self, file, notes=None):
        self._file = file
        file.seek(0, 2)
        self._blocks = file.tell() // BLOCK_BYTES
        self._notes = notes

    def readblocks(self, block, buffer, offset=0):
        self._file.seek(block * BLOCK_BYTES + offset)
        self._file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=0):
        place = block * BLOCK_BYTES + offset
        self.change(place, buffer)
        if self._notes:
            self._notes.write(struct.pack(_HEAD, place, len(buffer)))
            self._notes.write(buffer)

    def ioctl(self, operation, argument):
        if operation == _BLOCKS:
            return self._blocks
        if operation == _BLOCK_BYTES:
            return BLOCK_BYTES
        if operation == _ERASE:
            self.writeblocks(argument, b"\xff" * BLOCK_BYTES)
        return 0

    def change(self, place, data):
        self._file.seek(place)
        self._file.write(data)


def changes_in(notes):
    """Yield (place, bytes) of each change in a file of notes."""
    head = notes.read(struct.calcsize(_HEAD))
    while head:
        place, size = struct.unpack(_HEAD, head)
        yield place, notes.read(size)
        head = notes.read(struct.calcsize(_HEAD))
