"""An RP2040 or RP2350 board with a NAU7802. Copied to the board as `board.py`."""

from scalewright_device.boards import rp2


def assemble():
    return rp2.assemble(adc=rp2.nau7802)
