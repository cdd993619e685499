"""An ESP32 board with an ADS1232. Copied to the board as `board.py`."""

from scalewright_device.boards import esp32


def assemble():
    return esp32.assemble(adc=esp32.ads1232)
