"""An RP2040 or RP2350 board with an HX711, two buttons and a MAX7219. Copied to the board as `board.py`.

Wiring: hardware/front_panel.md.
"""

from machine import SPI, Pin

from scalewright_device.boards import rp2, wiring
from scalewright_device.max7219 import Max7219

_ZERO = 14
_TARE = 15
_SCK = 10
_DIN = 11
_UNUSED_MISO = 12  # SPI 1 takes one; nothing is connected to it
_LOAD = 13


def assemble():
    board = rp2.assemble()
    spi = SPI(1, baudrate=1_000_000, polarity=0, phase=0, sck=Pin(_SCK), mosi=Pin(_DIN), miso=Pin(_UNUSED_MISO))
    wiring.add_front_panel(board, _ZERO, _TARE, Max7219(spi, Pin(_LOAD, Pin.OUT, value=1)))
    return board
