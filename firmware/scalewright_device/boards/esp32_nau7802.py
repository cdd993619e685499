"""An ESP32 board with a NAU7802. Copied to the board as `board.py`."""

from scalewright_device.boards import esp32


def assemble():
    return esp32.assemble(adc=esp32.nau7802)
