"""An STM32 board with an ADS1232. Copied to the board as `board.py`."""

from scalewright_device.boards import stm32


def assemble():
    return stm32.assemble(adc=stm32.ads1232)
