"""An RP2040 or RP2350 board whose HX711 a PIO state machine reads. Copied to the board as `board.py`."""

from scalewright_device.boards import rp2


def assemble():
    return rp2.assemble(adc=rp2.hx711_by_pio)
