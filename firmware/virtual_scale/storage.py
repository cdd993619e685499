"""The board's file system, whose power can be cut at any byte."""


class PowerFailure(BaseException):
    """The supply failed: no part of the device goes on, so nothing there may catch this."""


class Storage:
    """Opens real files; every byte written lands at once, which is harder on the device than a buffer would be."""

    def __init__(self):
        self._bytes_left = None

    def cut_after(self, number_of_bytes):
        """Let the power fail once so many more bytes have been written."""
        self._bytes_left = number_of_bytes

    def open(self, name, mode="r"):
        return _File(self, open(name, mode))

    def split(self, data):
        """Return the part of `data` that still lands, and whether the power fails then."""
        if self._bytes_left is None:
            return data, False
        landing = data[: self._bytes_left]
        self._bytes_left -= len(landing)
        return landing, self._bytes_left == 0


class _File:
    def __init__(self, storage, file):
        self._storage = storage
        self._file = file
        self.read = file.read
        self.close = file.close

    def __enter__(self):
        return self

    def __exit__(self, kind, error, trace):
        self.close()

    def write(self, data):
        landing, fails = self._storage.split(data)
        self._file.write(landing)
        self._file.flush()
        if fails:
            self.close()
            raise PowerFailure
        return len(data)
