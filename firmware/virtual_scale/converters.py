"""The ADCs that a virtual board can have: the model of a chip, and the unmodified driver on its wires."""

from scalewright_device.adc.ads1232 import Ads1232 as Ads1232Driver
from scalewright_device.adc.bit_clock import PinBitClock, SpiBitClock
from scalewright_device.adc.hx711 import Hx711 as Hx711Driver
from scalewright_device.adc.nau7802 import Nau7802 as Nau7802Driver
from virtual_scale.chips import ads1232, hx711, nau7802
from virtual_scale.pins import ClockPin, DataPin, I2c, Interrupts, OutputPin, Spi

_TWO_WIRES = ("spi", "pins")
DRIVERS = {"hx711": _TWO_WIRES, "nau7802": ("i2c",), "ads1232": _TWO_WIRES}  # the first is the usual one
_CHIPS = {"hx711": hx711, "nau7802": nau7802, "ads1232": ads1232}
# Bridge and ADC share it, so that it cancels. The NAU7802 makes its own, from 3.3 V.
EXCITATION_V = {"hx711": 5.0, "nau7802": 3.0, "ads1232": 5.0}


def check(adc, driver, rate):
    """Raise ValueError, saying which of these names and numbers is none of ours."""
    if adc not in DRIVERS:
        raise ValueError("option adc=%s: expected %s" % (adc, _any_of(sorted(DRIVERS))))
    if driver not in DRIVERS[adc]:
        raise ValueError("option driver=%s: expected %s" % (driver, _any_of(DRIVERS[adc])))
    rates = sorted(_CHIPS[adc].INPUT_NOISE_V)
    if rate not in rates:
        raise ValueError("option rate=%d: expected %s" % (rate, _any_of(["%d" % one for one in rates])))


def make_chip(adc, clock, bridge_v, random_numbers, rate):
    """Return the model of the chip, switched on."""
    if adc == "nau7802":
        return nau7802.Nau7802(clock, bridge_v, random_numbers)
    kind = hx711.Hx711 if adc == "hx711" else ads1232.Ads1232
    return kind(clock, bridge_v, random_numbers, rate, EXCITATION_V[adc])


def make_driver(adc, driver, clock, chip, wiring, rate):
    """Return the driver, set up on the chip's wires."""
    if adc == "nau7802":
        return Nau7802Driver(I2c(wiring, clock), clock, rate)
    wires = SpiBitClock(Spi(wiring, clock)) if driver == "spi" else _pins(wiring, clock)
    if adc == "hx711":
        return Hx711Driver(wires)
    return Ads1232Driver(wires, clock, rate, OutputPin(chip.set_pdwn))


def _pins(wiring, clock):
    interrupts = Interrupts(clock)
    return PinBitClock(
        DataPin(wiring, clock, interrupts),
        ClockPin(wiring, clock, interrupts),
        clock,
        interrupts.disable,
        interrupts.enable,
    )


def _any_of(words):
    return " or ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
