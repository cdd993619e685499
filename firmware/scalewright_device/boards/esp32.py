"""ESP32 boards: an HX711 read through SPI and a DS18B20, unless another file asks for other parts.

Copied to the board as `board.py`. Wiring: hardware/esp32.md and hardware/converters.md. The pins are those of boards
with the first ESP32; S2, S3 and C3 do not have all of them and need others here.
"""

from machine import I2C, SPI, Pin

from scalewright_device.boards import wiring

# The two wires of a HX711 or ADS1232: its data line, and its clock, which the data line of the SPI drives.
_DATA = 19
_CLOCK = 23
_UNCONNECTED_SCK = 18  # the SPI's own clock; leave the pin free
_PDWN = 25
_SDA = 21
_SCL = 22
_ONE_WIRE = 4
_SWITCH = 27


def hx711():
    return wiring.hx711(_spi())


def ads1232(rate_sps=10):
    return wiring.ads1232(_spi(), Pin(_PDWN, Pin.OUT, value=0), rate_sps)


def nau7802(rate_sps=10):
    return wiring.nau7802(I2C(0, scl=Pin(_SCL), sda=Pin(_SDA), freq=400_000, timeout=2000), rate_sps)


def ds18b20():
    return wiring.ds18b20(Pin(_ONE_WIRE))


def processor_sensor():
    """Whole degrees. The sensor of the first ESP32 gives Fahrenheit, and is good for changes only."""
    import esp32

    celsius = getattr(esp32, "mcu_temperature", None)
    if celsius is not None:
        return wiring.processor_sensor(lambda: celsius() * 16)
    return wiring.processor_sensor(lambda: (esp32.raw_temperature() - 32) * 80 // 9)


def assemble(adc=hx711, thermometer=ds18b20, watchdog_ms=None):
    """Return the board with the parts that these functions make. watchdog_ms: 8000 fits all ports; None for none."""
    return wiring.board("esp32", adc(), thermometer(), _SWITCH, "/", watchdog_ms)


def _spi():
    return SPI(
        2,
        baudrate=wiring.BIT_HZ,
        polarity=0,
        phase=0,
        sck=Pin(_UNCONNECTED_SCK),
        mosi=Pin(_CLOCK),
        miso=Pin(_DATA),
    )
