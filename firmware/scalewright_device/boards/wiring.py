"""What the board files have in common: a part on its bus or pins, and the board around the parts.

Each part imports its driver itself: what is not in use takes no memory.
"""

import time
from binascii import hexlify

from machine import Pin, unique_id

from scalewright_device.board import Board
from scalewright_device.console import StdioConsole

BIT_HZ = 1_000_000  # of an SPI that clocks a HX711 or ADS1232: a bit is one phase of the converter's clock, 1 us


class OpeningSwitch:
    """A switch or jumper that connects its pin to ground while it is held: what opens the seal."""

    def __init__(self, name):
        self._pin = Pin(name, Pin.IN, Pin.PULL_UP)

    def is_held(self):
        return self._pin.value() == 0


def hx711(spi):
    from scalewright_device.adc.bit_clock import SpiBitClock
    from scalewright_device.adc.hx711 import Hx711

    return Hx711(SpiBitClock(spi))


def ads1232(spi, pdwn_pin, rate_sps):
    """rate_sps: 10 or 80, as SPEED is wired."""
    from scalewright_device.adc.ads1232 import Ads1232
    from scalewright_device.adc.bit_clock import SpiBitClock

    return Ads1232(SpiBitClock(spi), time, rate_sps, pdwn_pin)


def nau7802(i2c, rate_sps):
    from scalewright_device.adc.nau7802 import Nau7802

    return Nau7802(i2c, time, rate_sps)


def ds18b20(pin):
    from onewire import OneWire

    from scalewright_device.thermometer import Ds18b20

    return Ds18b20(OneWire(pin), time)


def processor_sensor(sample):
    """sample(): measures once, in 1/16 C."""
    from scalewright_device.thermometer import ProcessorSensor

    return ProcessorSensor(sample)


def board(name, adc, thermometer, switch_pin, folder="/", watchdog_ms=None):
    """Return the board; its console is the USB port or UART that its REPL uses. watchdog_ms: None for no watchdog."""
    console = StdioConsole()
    return Board(
        name=name,
        serial_number=hexlify(unique_id()).decode().upper(),
        adc=adc,
        console=console,
        clock=time,
        idle=lambda is_busy: console.wait(1),
        folder=folder,
        thermometer=thermometer,
        opening_switch=OpeningSwitch(switch_pin),
        watchdog=None if watchdog_ms is None else lambda: _watchdog(watchdog_ms),
        reset=_reset,
    )


def add_front_panel(parts, zero_pin, tare_pin, display=None):
    """Give a Board two buttons that connect their pins to ground, and a display as panel.py asks."""
    zero, tare = Pin(zero_pin, Pin.IN, Pin.PULL_UP), Pin(tare_pin, Pin.IN, Pin.PULL_UP)
    parts.buttons = (lambda: zero.value() == 0, lambda: tare.value() == 0)
    parts.display = display


def _watchdog(timeout_ms):
    from machine import WDT

    return WDT(timeout=timeout_ms)


def _reset():
    from machine import reset

    reset()
