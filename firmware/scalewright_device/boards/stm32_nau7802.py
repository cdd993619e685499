"""An STM32 board with a NAU7802. Copied to the board as `board.py`."""

from scalewright_device.boards import stm32


def assemble():
    return stm32.assemble(adc=stm32.nau7802)
