"""Two buttons and a display, without a host: a press at a time, its bounce included."""

import pytest

from scalewright_device.panel import LONG, NONE, SHORT, Button, Panel, _next_mass
from shared_calc import coefficient_record
from shared_calc.reading import NET
from tests.firmware.parts import Bench, Clock, record

STEP_MS = 5


class Display:
    def __init__(self):
        self.text = self.unit = ""
        self.flags = 0
        self.times = 0

    def show(self, text, unit, flags):
        self.text, self.unit, self.flags = text, unit, flags
        self.times += 1


class PanelBench(Bench):
    """A device with buttons and a display, and fingers; record(1): 1001 counts a gram, d = 0.1 g, Max 3000 g."""

    def __init__(self, data=None):
        super().__init__()
        if data is not None:
            self.ask(f'CAL:DATA "{data.hex()}"')
        self.counts = -2000
        self.down = {"zero": False, "tare": False}
        self.display = Display()
        panel = Panel(self.device, lambda: self.down["zero"], lambda: self.down["tare"], self.display)
        self.device.panel = panel

    def wait(self, ms):
        for _ in range(ms // STEP_MS):
            self.clock.now_ms += STEP_MS
            if self.clock.now_ms % 100 == 0:
                self.adc.conversions.append(self.counts)
            self.run()

    def press(self, *buttons, ms=100):
        """Press and release, with contacts that bounce for 10 ms."""
        for level in (True, False):
            for contact in (level, not level, level):
                self.down.update(dict.fromkeys(buttons, contact))
                self.wait(STEP_MS)
            self.wait(ms)

    def place(self, grams, ms=4000):
        self.counts = round(1001 * grams - 2000)
        self.wait(ms)


@pytest.fixture
def bench():
    bench = PanelBench(record(1))
    bench.place(0)
    return bench


# A button


def presses(*contacts):
    """Return what a button says of contacts, each lasting STEP_MS."""
    clock = Clock()
    now = [False]
    button = Button(lambda: now[0], clock)
    said = []
    for contact in contacts:
        now[0] = contact
        clock.now_ms += STEP_MS
        said.append(button.step())
    return [one for one in said if one != NONE]


def test_a_press_counts_once_when_it_is_released_or_has_been_long():
    assert presses(*[1] * 50, *[0] * 10) == [SHORT]
    assert presses(*[1] * 500, *[0] * 10) == [LONG]
    assert presses(*[1] * 50, *[0] * 10, *[1] * 50, *[0] * 10) == [SHORT, SHORT]


def test_bouncing_contacts_and_a_touch_of_a_moment_are_not_presses():
    assert presses(*[1, 0] * 40, *[0] * 10) == []
    assert presses(1, 1, *[0] * 20) == []
    assert presses(*[1, 0] * 3, *[1] * 50, *[0, 1] * 3, *[0] * 10) == [SHORT]


# Weighing


def test_the_display_follows_the_readings_and_is_written_only_when_it_changes(bench):
    bench.place(123.4)
    assert (bench.display.text, bench.display.unit) == ("123.4", "g")
    times = bench.display.times
    bench.place(123.4)
    assert bench.display.times == times


def test_zero_and_tare_by_their_buttons(bench):
    bench.place(50)
    bench.press("zero")
    assert bench.display.text == "0.0"
    bench.place(550)
    bench.press("tare")
    assert (bench.display.text, bench.display.flags & NET) == ("0.0", NET)
    bench.place(650)
    assert bench.display.text == "100.0"
    bench.press("tare", ms=1500)
    assert (bench.display.text, bench.display.flags & NET) == ("600.0", 0)


@pytest.mark.parametrize(
    ("grams", "button", "message"), [(200, "zero", "too far"), (0, "tare", "no load"), (3500, "tare", "no data")]
)
def test_what_is_refused_is_said_for_a_moment(bench, grams, button, message):
    bench.place(grams)
    before = bench.device.chain.zero(), bench.device.chain.tare()
    bench.press(button)
    assert bench.display.text == message
    assert (bench.device.chain.zero(), bench.device.chain.tare()) == before
    bench.wait(2000)
    bench.place(grams)
    assert bench.display.text == ("over" if grams > 3000 else f"{grams}.0")


def test_a_long_zero_goes_through_the_units(bench):
    bench.place(1000)
    seen = set()
    for _ in range(7):
        bench.press("zero", ms=1500)
        seen.add((bench.display.unit, bench.display.text))
    assert {unit for unit, _ in seen} == {"g", "kg", "ct", "lb", "oz", "oz t", "gr"}
    assert ("kg", "1.0000") in seen and ("ct", "5000.0") in seen


def test_a_fault_is_shown_in_a_word():
    bench = PanelBench()
    bench.wait(1000)
    assert bench.display.text == "adjust"
    bench.convert(None)
    assert bench.display.text == "no data"


# Adjustment


def test_two_points_adjust_a_scale_that_had_no_coefficients():
    bench = PanelBench()
    bench.place(0)
    bench.press("zero", "tare", ms=1500)
    assert bench.display.text == "empty"
    bench.press("tare")
    seen = []
    for _ in range(9):
        seen.append(bench.display.text)
        bench.press("zero")
    assert [*seen, bench.display.text] == ["1", "2", "5", "10", "20", "50", "100", "200", "500", "1000"]
    bench.place(1000)
    bench.press("tare")
    assert bench.display.text == "done"
    bench.wait(2000)
    bench.place(500)
    assert (bench.display.text, bench.display.unit) == ("500", "g")
    stored = coefficient_record.decode(bench.device.store.data)
    assert (stored.max_divisions, stored.mantissa, stored.power_of_ten) == (1000, 1, 0)


def test_only_masses_between_a_fifth_of_max_and_max_are_offered(bench):
    bench.press("zero", "tare", ms=1500)
    bench.press("tare")
    seen = [bench.display.text]
    for _ in range(3):
        bench.press("zero")
        seen.append(bench.display.text)
    assert seen == ["1000", "2000", "1000", "2000"]


def test_an_adjustment_waits_for_rest_and_can_be_given_up(bench):
    before = bench.state()
    bench.press("zero", "tare", ms=1500)
    bench.place(100, ms=500)
    bench.press("tare")
    assert bench.display.text == "moving"
    bench.place(0)
    assert bench.display.text == "empty"
    bench.press("zero", ms=1500)
    assert bench.display.text == "0.0"
    assert bench.state() == before


def test_a_sealed_device_is_not_adjusted(bench):
    bench.ask("CAL:SEAL ON")
    bench.press("zero", "tare", ms=1200)
    assert bench.display.text == "sealed"
    bench.place(0)
    assert bench.display.text == "0.0"


def test_a_load_that_makes_no_difference_is_refused(bench):
    before = bench.state()
    bench.press("zero", "tare", ms=1500)
    bench.press("tare")
    bench.press("tare")
    assert bench.display.text == "bad load"
    assert bench.state() == before


def test_masses_step_by_1_2_5():
    masses = [0]
    for _ in range(9):
        masses.append(_next_mass(masses[-1]))
    assert masses == [0, 1, 2, 5, 10, 20, 50, 100, 200, 500]
