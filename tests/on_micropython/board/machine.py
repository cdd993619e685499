"""Stands in for MicroPython's `machine`: pins and buses at which nothing is connected."""


class Reset(BaseException):
    """The board restarts."""


class Pin:
    """A pin that a pull-up holds high, unless it is an output."""

    IN, OUT, PULL_UP = 0, 1, 1

    def __init__(self, name, mode=IN, pull=None, value=1):
        self._level = value

    def value(self, level=None):
        if level is None:
            return self._level
        self._level = level
        return None


class SPI:
    """A bus whose input stays high: to an HX711's driver, a converter that never has anything ready."""

    def __init__(self, number, **settings):
        pass

    def write_readinto(self, sent, received):
        for k in range(len(received)):
            received[k] = 0xFF

    def write(self, sent):
        pass


class I2C:
    """A bus at which nobody answers."""

    def __init__(self, number, **settings):
        pass

    def _is_not_answered(self, *arguments):
        raise OSError(5)  # EIO

    readfrom_mem = readfrom_mem_into = writeto_mem = _is_not_answered


class ADC:
    """Board files name it; a board with a thermometer of its own does not use it."""


class WDT:
    """A watchdog that never bites."""

    def __init__(self, number=0, timeout=5000):
        pass

    def feed(self):
        pass


def unique_id():
    return b"\x51\x4d\x00\x00\x00\x00\x00\x07"


def reset():
    raise Reset
