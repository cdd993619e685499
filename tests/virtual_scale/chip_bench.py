"""An HX711 model on a bench: an input the test sets, no noise, virtual time, and either driver on its pins."""

from scalewright_device.adc.bit_clock import PinBitClock, SpiBitClock
from scalewright_device.adc.hx711 import Hx711
from virtual_scale.chips import hx711
from virtual_scale.clock import VirtualClock
from virtual_scale.pins import ClockPin, DataPin, Interrupts, Spi

AVDD_V = 5.0


class NoNoise:
    def normal(self):
        return 0.0


class ChipBench:
    """input_v: the differential voltage at each channel, {"A": …, "B": …}."""

    def __init__(self, rate_sps=10, random_numbers=None):
        self.input_v = {"A": 0.0, "B": 0.0}
        self.clock = VirtualClock()
        self.interrupts = Interrupts(self.clock)
        self.chip = hx711.Hx711(self.clock, self._differential_v, random_numbers or NoNoise(), rate_sps, AVDD_V)

    def _differential_v(self, channel, time_ns):
        return self.input_v[channel]

    def set_counts(self, counts, gain=128):
        """Put the voltage on channel A that gives these counts."""
        self.input_v["A"] = counts * AVDD_V / gain / 2**24

    def driver(self, kind, channel_pulses=25):
        if kind == "spi":
            return Hx711(SpiBitClock(Spi(self.chip, self.clock)), channel_pulses)
        return Hx711(self.pin_bit_clock(self.interrupts.disable, self.interrupts.enable), channel_pulses)

    def driver_that_leaves_interrupts_on(self):
        return Hx711(self.pin_bit_clock(lambda: True, lambda state: None))

    def pin_bit_clock(self, disable_irq, enable_irq):
        data, clock_pin = (pin(self.chip, self.clock, self.interrupts) for pin in (DataPin, ClockPin))
        return PinBitClock(data, clock_pin, self.clock, disable_irq, enable_irq)

    def wait_for_conversion(self):
        """Go to just after the end of the next conversion."""
        self.clock.now_ns = self.chip.next_change_ns() + 1000

    def pulse(self, high_ns=1000):
        """Give one pulse and return DOUT after it."""
        self.chip.set_clock(1)
        self.clock.now_ns += high_ns
        self.chip.set_clock(0)
        self.clock.now_ns += 1000
        return self.chip.dout()

    def take(self, pulses=25):
        """Wait for a conversion and clock it out by hand; return it unsigned."""
        self.wait_for_conversion()
        bits = [self.pulse() for _ in range(pulses)]
        return int("".join(map(str, bits[:24])), 2)

    def next_reading(self, driver):
        """Wait for a conversion and read it with a driver."""
        self.wait_for_conversion()
        assert driver.is_ready()
        return driver.read()

    def settled_reading(self, driver):
        """Discard as many as the driver says, and return the next."""
        for _ in range(driver.settling_readings):
            self.next_reading(driver)
        return self.next_reading(driver)
