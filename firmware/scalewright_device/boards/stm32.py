"""STM32 boards: an HX711 read through SPI and a DS18B20, unless another file asks for other parts.

Copied to the board as `board.py`. Wiring: hardware/stm32.md and hardware/converters.md. SPI 1 and I2C 1 are on the pins
where MicroPython's definition of the board puts them; the others are named by port and number.
"""

from machine import I2C, SPI, Pin

from scalewright_device.boards import wiring

_PDWN = "B1"
_ONE_WIRE = "B0"
_SWITCH = "A0"


def hx711():
    return wiring.hx711(_spi())


def ads1232(rate_sps=10):
    return wiring.ads1232(_spi(), Pin(_PDWN, Pin.OUT, value=0), rate_sps)


def nau7802(rate_sps=10):
    return wiring.nau7802(I2C(1, freq=400_000, timeout=2000), rate_sps)


def ds18b20():
    return wiring.ds18b20(Pin(_ONE_WIRE))


def processor_sensor():
    from pyb import ADCAll

    sensor = ADCAll(12, 0x70000)  # 12 bits; only channels 16 to 18, which are inside
    return wiring.processor_sensor(lambda: int(sensor.read_core_temp() * 16))


def assemble(adc=hx711, thermometer=ds18b20, watchdog_ms=None):
    """Return the board with the parts that these functions make. watchdog_ms: 8000 fits all ports; None for none."""
    return wiring.board("stm32", adc(), thermometer(), _SWITCH, "/flash/", watchdog_ms)


def _spi():
    return SPI(1, baudrate=wiring.BIT_HZ, polarity=0, phase=0)  # its divider may make a bit up to 2 us long
