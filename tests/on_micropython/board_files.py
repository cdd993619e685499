"""Runs each board file on MicroPython with stand-ins for its modules, at which the models of the chips are connected.

Prints a line for each part of each board: port, part, pins by their role, and what was read with it.
"""

import sys

from virtual_scale.chips.ads1232 import Ads1232
from virtual_scale.chips.hx711 import Hx711
from virtual_scale.chips.nau7802 import Nau7802
from virtual_scale.clock import VirtualClock
from virtual_scale.pins import I2c, Spi
from virtual_scale.random_numbers import RandomNumbers
from virtual_scale.wiring_faults import Wiring

_INPUT_V = 0.001
_READINGS = 8

clock = VirtualClock()
wires = Wiring(5.0)
roles = {}


class Module:
    """A module of MicroPython that this interpreter does not have."""

    def __init__(self, **names):
        for name in names:
            setattr(self, name, names[name])


class Pin:
    IN, OUT, PULL_UP = 0, 1, 2

    def __init__(self, name, mode=IN, pull=None, value=None):
        self.name = name
        if mode == self.OUT:
            self.value(value)

    def value(self, level=None):
        if level is None:  # asked: nobody holds the switch
            roles["open"] = self.name
            return 1
        if not hasattr(wires._chip, "set_pdwn"):
            return None  # LOAD of a display
        roles["pdwn"] = self.name
        return wires._chip.set_pdwn(level)


class DisplaySpi:
    def write(self, data):
        pass


def spi(number, baudrate, polarity, phase, **pins):
    if [pins[role].name for role in sorted(pins)] == [12, 11, 10]:  # of hardware/front_panel.md
        return DisplaySpi()
    roles["spi"] = number
    roles.update({role: pins[role].name for role in pins})
    assert (baudrate, polarity, phase) == (1000000, 0, 0)
    return Spi(wires, clock, baudrate)


def i2c(number, freq, timeout, **pins):
    roles["i2c"] = number
    roles.update({role: pins[role].name for role in pins})
    return I2c(wires, clock, freq)


class StateMachine:
    """Has one word, and once started waits for the next."""

    def __init__(self, number, program, freq, in_base, sideset_base):
        assert freq == 1000000
        program()
        roles.update({"state machine": number, "in": in_base.name, "side": sideset_base.name})

    def active(self, is_active):
        self._words = [0x123456 << 1 | 1] if is_active else []

    def rx_fifo(self):
        return len(self._words)

    def get(self):
        return self._words.pop()

    def put(self, word):
        pass

    def restart(self):
        pass


class Pio:
    OUT_LOW, SHIFT_LEFT = 2, 0

    def __init__(self, number):
        roles["pio"] = number

    def remove_program(self):
        pass


class OneWire:
    def __init__(self, pin):
        roles["wire"] = pin.name

    def reset(self):
        return False


class Adc:
    CORE_TEMP = 4

    def __init__(self, channel):
        assert channel == 4

    def read_u16(self):
        return 14021  # 0.706 V of 3.3 V: 27 C


class AdcAll:
    def __init__(self, bits, mask):
        pass

    def read_core_temp(self):
        return 27.0


sys.modules["time"] = clock
sys.modules["machine"] = Module(Pin=Pin, SPI=spi, I2C=i2c, ADC=Adc, unique_id=lambda: b"\x0a\xb1")
sys.modules["rp2"] = Module(PIO=Pio, StateMachine=StateMachine, asm_pio=lambda **how: lambda program: lambda: None)
sys.modules["onewire"] = Module(OneWire=OneWire)
sys.modules["pyb"] = Module(ADCAll=AdcAll)
sys.modules["esp32"] = Module(raw_temperature=lambda: 80)


def connect(kind):
    differential_v = lambda channel, time_ns: _INPUT_V if channel == "A" else 0.0  # noqa: E731
    wires.connect(kind(clock, differential_v, RandomNumbers(1)))


def counts_of(driver):
    """Return the count of a settled conversion."""
    counts = None
    for _ in range(_READINGS):
        clock.now_ns = max(clock.now_ns, wires._chip.next_change_ns())
        while not driver.is_ready():
            clock.now_ns = max(clock.now_ns, wires._chip.next_change_ns())
        counts = driver.read()
        assert driver.is_valid
    return counts


def show(port, part, result):
    print("%s;%s;%s;%s" % (port, part, " ".join(["%s=%s" % (role, roles[role]) for role in sorted(roles)]), result))
    roles.clear()


def try_parts(port, module):
    for part, kind in (("hx711", Hx711), ("ads1232", Ads1232), ("nau7802", Nau7802)):
        connect(kind)
        show(port, part, counts_of(getattr(module, part)()))
    show(port, "ds18b20", module.ds18b20().read())
    show(port, "processor_sensor", module.processor_sensor().read())
    connect(Hx711)
    board = module.assemble()
    board.idle(False)
    assert not board.opening_switch.is_held()
    show(port, "assemble", "%s %s %s" % (board.name, board.serial_number, board.folder))


def main():
    from scalewright_device.boards import esp32, rp2, stm32

    for port, module in (("rp2", rp2), ("esp32", esp32), ("stm32", stm32)):
        try_parts(port, module)
    driver = rp2.hx711_by_pio()
    assert driver.is_ready()
    show("rp2", "hx711_by_pio", driver.read())
    sys.modules["esp32"].mcu_temperature = lambda: 27
    show("esp32", "newer processor_sensor", esp32.processor_sensor().read())
    connect(Hx711)
    board = __import__("scalewright_device.boards.rp2_front_panel", None, None, ["assemble"]).assemble()
    pins = []
    for is_down in board.buttons:
        assert not is_down()
        pins.append(roles["open"])
    roles.clear()
    show("rp2", "assemble front_panel", "%s %s %s" % (pins[0], pins[1], type(board.display).__name__))
    for name, kind in (("hx711_pio", Hx711), ("nau7802", Nau7802), ("ads1232", Ads1232)):
        for port in ("rp2", "esp32", "stm32")[: 1 if name == "hx711_pio" else 3]:
            connect(kind)
            path = "scalewright_device.boards.%s_%s" % (port, name)
            adc = __import__(path, None, None, ["assemble"]).assemble().adc
            show(port, "assemble " + name, type(adc).__name__)
