"""ADC models on a bench: an input the test sets, no noise, virtual time, and the unmodified drivers on their wires."""

from scalewright_device.adc.ads1232 import Ads1232
from scalewright_device.adc.bit_clock import PinBitClock, SpiBitClock
from scalewright_device.adc.hx711 import Hx711
from scalewright_device.adc.nau7802 import Nau7802
from virtual_scale.chips import ads1232, hx711, nau7802
from virtual_scale.clock import VirtualClock
from virtual_scale.pins import ClockPin, DataPin, I2c, Interrupts, OutputPin, Spi
from virtual_scale.wiring_faults import Wiring

REFERENCE_V = 5.0


class NoNoise:
    def normal(self):
        return 0.0


class ChipBench:
    """input_v: the differential voltage at each channel, {"A": …, "B": …}."""

    def __init__(self):
        self.input_v = {"A": 0.0, "B": 0.0}
        self.clock = VirtualClock()
        self.interrupts = Interrupts(self.clock)
        self.wiring = Wiring(REFERENCE_V)

    def connect(self, chip):
        self.chip = chip
        self.wiring.connect(chip)

    def differential_v(self, channel, time_ns):
        return self.input_v[channel]

    def set_counts(self, counts, gain=128):
        """Put the voltage on channel A that gives these counts."""
        self.input_v["A"] = counts * REFERENCE_V / gain / 2**24

    def bit_clock(self, kind):
        if kind == "spi":
            return SpiBitClock(Spi(self.wiring, self.clock))
        return self.pin_bit_clock(self.interrupts.disable, self.interrupts.enable)

    def pin_bit_clock(self, disable_irq, enable_irq):
        data, clock_pin = (pin(self.wiring, self.clock, self.interrupts) for pin in (DataPin, ClockPin))
        return PinBitClock(data, clock_pin, self.clock, disable_irq, enable_irq)

    def wait_for_conversion(self):
        """Go to just after the end of the next conversion."""
        self.clock.now_ns = self.chip.next_change_ns() + 1000

    def pulse(self, high_ns=1000):
        """Give one pulse and return the data line after it."""
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


class Hx711Bench(ChipBench):
    def __init__(self, rate_sps=10, random_numbers=None):
        super().__init__()
        self.connect(hx711.Hx711(self.clock, self.differential_v, random_numbers or NoNoise(), rate_sps, REFERENCE_V))

    def driver(self, kind, channel_pulses=25):
        return Hx711(self.bit_clock(kind), channel_pulses)

    def driver_that_leaves_interrupts_on(self):
        return Hx711(self.pin_bit_clock(lambda: True, lambda state: None))


class Ads1232Bench(ChipBench):
    """offset_v: of the chip's own, before it is calibrated."""

    def __init__(self, rate_sps=10, random_numbers=None, offset_v=0.0):
        super().__init__()
        random_numbers = random_numbers or NoNoise()
        self.rate_sps = rate_sps
        self.connect(ads1232.Ads1232(self.clock, self.differential_v, random_numbers, rate_sps, REFERENCE_V, offset_v))

    def set_counts(self, counts, gain=128):
        """One count is 0.5 V_REF / gain / (2**23 - 1)."""
        self.input_v["A"] = counts * REFERENCE_V / 2 / gain / (2**23 - 1)

    def driver(self, kind):
        return Ads1232(self.bit_clock(kind), self.clock, self.rate_sps, OutputPin(self.chip.set_pdwn))

    def wait_for_conversion(self):
        """Go to just after the next time DRDY/DOUT falls, by way of the update before it."""
        self.clock.now_ns = max(self.clock.now_ns, self.chip.next_change_ns())
        super().wait_for_conversion()

    def next_reading(self, driver):
        """Look once before the conversion ends, as a device does all the time."""
        self.clock.now_ns = max(self.clock.now_ns, self.chip.next_change_ns())
        assert not driver.is_ready()
        super().wait_for_conversion()
        assert driver.is_ready()
        return driver.read()


class Nau7802Bench(ChipBench):
    """offset_v: of the chip's own, before it is calibrated."""

    def __init__(self, random_numbers=None, offset_v=0.0):
        super().__init__()
        self.connect(nau7802.Nau7802(self.clock, self.differential_v, random_numbers or NoNoise(), offset_v=offset_v))
        self.i2c = I2c(self.wiring, self.clock)

    def set_counts(self, counts, gain=128, reference_v=3.0):
        """One count is 0.5 of the reference by the gain and 2**23."""
        self.input_v["A"] = counts * reference_v / 2 / gain / 2**23

    def driver(self, **options):
        return Nau7802(self.i2c, self.clock, **options)

    def read(self, register, size=1):
        """Return registers as one unsigned number."""
        data = bytearray(size)
        self.i2c.readfrom_mem_into(self.chip.address, register, data)
        return int.from_bytes(data, "big")

    def write(self, register, *values):
        self.i2c.writeto_mem(self.chip.address, register, bytes(values))
