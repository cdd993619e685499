"""Block devices in memory whose power can be cut at any write or erase, for MicroPython's own file systems.

A write allocates nothing, as on a board: so also what the garbage collector writes, with the heap locked, gets there.
"""

import vfs

TEARS = ("lost", "half", "whole")  # how much lands of the operation at which the power goes
_NO_POWER = 5  # EIO


class _BlockDevice:
    """`operations_left`: so many more writes and erases succeed, then the power is gone; -1: it is; None: it stays."""

    def __init__(self, image, block_bytes):
        self.image = bytearray(image)
        self.block_bytes = block_bytes
        self.operations_left = None
        self.tear = "lost"

    def is_dead(self):
        return self.operations_left == -1

    def readblocks(self, block, buffer, offset=0):
        if self.operations_left == -1:
            raise OSError(_NO_POWER)
        start = block * self.block_bytes + offset
        for k in range(len(buffer)):
            buffer[k] = self.image[start + k]

    def ioctl(self, operation, argument):
        if operation == 4:
            return len(self.image) // self.block_bytes
        if operation == 5:
            return self.block_bytes
        if operation == 6:
            self.erase(argument)
        return 0

    def spend(self, size):
        """Return how many bytes of an operation on `size` bytes land. Raises OSError where there is no power at all."""
        if self.operations_left is None:
            return size
        if self.operations_left == -1:
            raise OSError(_NO_POWER)
        self.operations_left -= 1
        if self.operations_left >= 0 or self.tear == "whole":
            return size
        return size // 2 if self.tear == "half" else 0

    def fail_if_dead(self):
        if self.operations_left == -1:
            raise OSError(_NO_POWER)


class Flash(_BlockDevice):
    """NOR flash as on a board: an erase sets the bits of a block, a write can only clear them."""

    def __init__(self, image=b"\xff" * (8 * 4096)):
        super().__init__(image, 4096)

    def writeblocks(self, block, buffer, offset=0):
        start = block * self.block_bytes + offset
        for k in range(self.spend(len(buffer))):
            self.image[start + k] &= buffer[k]
        self.fail_if_dead()

    def erase(self, block):
        start = block * self.block_bytes
        for k in range(self.spend(self.block_bytes)):
            self.image[start + k] = 0xFF
        self.fail_if_dead()


class Card(_BlockDevice):
    """Sectors that are written over, as FAT expects them."""

    def __init__(self, image=bytes(128 * 512)):
        super().__init__(image, 512)

    def writeblocks(self, block, buffer):
        start = block * self.block_bytes
        for k in range(self.spend(len(buffer))):
            self.image[start + k] = buffer[k]
        self.fail_if_dead()

    def erase(self, block):
        pass


class FileSystem:
    """One of MicroPython's file systems on the kind of device it is made for."""

    def __init__(self, kind, device, **options):
        self._kind = kind
        self._options = options
        self.device = device

    def format(self, device):
        self._kind.mkfs(device, **self._options)

    def mount(self, device, folder):
        vfs.mount(self._kind(device, **self._options), folder)


FILE_SYSTEMS = {
    "littlefs2": FileSystem(vfs.VfsLfs2, Flash),
    "littlefs2 by 256 bytes": FileSystem(vfs.VfsLfs2, Flash, progsize=256),  # as MicroPython formats an RP2040
    "FAT": FileSystem(vfs.VfsFat, Card),
}


def formatted(file_system):
    """Return the bytes of an empty file system."""
    device = file_system.device()
    file_system.format(device)
    return bytes(device.image)
