"""RP2040 and RP2350 boards: an HX711 on SPI 0. Copied to the board as `board.py`. Wiring: hardware/rp2_hx711.md."""

import time
from binascii import hexlify

from machine import SPI, Pin, unique_id

from scalewright_device.adc.bit_clock import SpiBitClock
from scalewright_device.adc.hx711 import Hx711
from scalewright_device.board import Board
from scalewright_device.console import StdioConsole

_UNCONNECTED_SCK = 18  # the SPI's own clock; leave the pin free
_MOSI_TO_PD_SCK = 19
_MISO_FROM_DOUT = 16


def assemble():
    spi = SPI(
        0,
        baudrate=1_000_000,  # one bit is one clock phase of the HX711: 1 us, typical by its datasheet
        polarity=0,
        phase=0,
        sck=Pin(_UNCONNECTED_SCK),
        mosi=Pin(_MOSI_TO_PD_SCK),
        miso=Pin(_MISO_FROM_DOUT),
    )
    console = StdioConsole()
    return Board(
        name="rp2",
        serial_number=hexlify(unique_id()).decode().upper(),
        adc=Hx711(SpiBitClock(spi)),
        console=console,
        clock=time,
        idle=lambda is_busy: console.wait(1),
        folder="/",
    )
