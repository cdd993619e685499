"""Stands in for MicroPython's `onewire` on the simulated board: a wire with nothing on it."""


class OneWire:
    def __init__(self, pin):
        pass

    def reset(self, required=False):
        return False
