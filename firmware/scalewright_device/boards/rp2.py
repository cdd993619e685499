"""RP2040 and RP2350 boards: an HX711 read through SPI and a DS18B20, unless another file asks for other parts.

Copied to the board as `board.py`. Wiring: hardware/rp2_hx711.md and hardware/converters.md.
"""

from machine import ADC, I2C, SPI, Pin

from scalewright_device.boards import wiring

# The two wires of a HX711 or ADS1232: its data line, and its clock, which the data line of SPI 0, or a PIO, drives.
_DATA = 16
_CLOCK = 19
_UNCONNECTED_SCK = 18  # the SPI's own clock; leave the pin free
_PDWN = 20
_SDA = 4
_SCL = 5
_ONE_WIRE = 22
_SWITCH = 21


def hx711():
    return wiring.hx711(_spi())


def hx711_by_pio():
    import rp2

    from scalewright_device.adc.hx711_pio import CYCLES_PER_SECOND, Hx711Pio, clock_out

    block = rp2.PIO(0)  # the radio of W boards is in block 1
    block.remove_program()  # what ran before may have left one
    program = rp2.asm_pio(sideset_init=rp2.PIO.OUT_LOW, in_shiftdir=rp2.PIO.SHIFT_LEFT)(clock_out)
    return Hx711Pio(
        rp2.StateMachine(0, program, freq=CYCLES_PER_SECOND, in_base=Pin(_DATA, Pin.IN), sideset_base=Pin(_CLOCK))
    )


def ads1232(rate_sps=10):
    return wiring.ads1232(_spi(), Pin(_PDWN, Pin.OUT, value=0), rate_sps)


def nau7802(rate_sps=10):
    return wiring.nau7802(I2C(0, scl=Pin(_SCL), sda=Pin(_SDA), freq=400_000, timeout=2000), rate_sps)


def ds18b20():
    return wiring.ds18b20(Pin(_ONE_WIRE))


def processor_sensor():
    from scalewright_device.thermometer import rp2_sixteenths

    sensor = ADC(ADC.CORE_TEMP)
    return wiring.processor_sensor(lambda: rp2_sixteenths(sensor.read_u16()))


def assemble(adc=hx711, thermometer=ds18b20, watchdog_ms=None):
    """Return the board with the parts that these functions make. watchdog_ms: 8000 fits all ports; None for none."""
    return wiring.board("rp2", adc(), thermometer(), _SWITCH, "/", watchdog_ms)


def _spi():
    return SPI(
        0,
        baudrate=wiring.BIT_HZ,
        polarity=0,
        phase=0,
        sck=Pin(_UNCONNECTED_SCK),
        mosi=Pin(_CLOCK),
        miso=Pin(_DATA),
    )
