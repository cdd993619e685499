"""A board that is not there: the unmodified drivers on simulated pins, a cell and a room around them."""

from scalewright_device.board import Board
from virtual_scale import converters
from virtual_scale.clock import FASTEST, Pace, VirtualClock
from virtual_scale.front_panel import PANEL_COMMANDS, FrontPanel
from virtual_scale.load_cell import LoadCell
from virtual_scale.operator_commands import OPERATOR_COMMANDS
from virtual_scale.random_numbers import RandomNumbers
from virtual_scale.room import Room
from virtual_scale.storage import Storage
from virtual_scale.thermometer import Thermometer, WiredThermometer
from virtual_scale.uart import Uart
from virtual_scale.wiring_faults import NoisyLine, Wiring

_OPTIONS = {
    "seed": int,
    "speed": float,
    "rate": int,
    "adc": str,
    "driver": str,
    "thermometer": str,
    "serial": str,
    "folder": str,
    "baud": int,
    "damaged_ppm": int,
    "lost_ppm": int,
}


def parse_options(pairs):
    """Return the keyword arguments of VirtualBoard in (name, text) pairs. Raises ValueError, saying which is wrong.

    `cell_` before a name makes it a parameter of the load cell, `room_` of the room.
    """
    options = {}
    cell = {}
    room = {}
    for name, text in pairs:
        try:
            if name.startswith("cell_"):
                cell[name[5:]] = float(text)
            elif name.startswith("room_"):
                room[name[5:]] = float(text)
            else:
                options[name] = _OPTIONS[name](text)
        except KeyError:
            raise ValueError("option %s is not known; there are %s" % (name, " ".join(sorted(_OPTIONS))))
        except ValueError:
            raise ValueError("option %s=%s: expected a number" % (name, text))
    _check(options)
    options["cell"] = LoadCell(**cell)
    options["room"] = Room(**room)
    return options


def _check(options):
    adc = options.setdefault("adc", "hx711")
    driver = options.setdefault("driver", converters.DRIVERS.get(adc, ("",))[0])
    converters.check(adc, driver, options.get("rate", 10))
    if options.get("thermometer", "ideal") not in ("ideal", "ds18b20"):
        raise ValueError("option thermometer=%s: expected ideal or ds18b20" % options["thermometer"])
    if options.get("baud", 0) and not 300 <= options["baud"] <= 4000000:
        raise ValueError("option baud=%d: expected 300 to 4000000, or 0" % options["baud"])
    if not 0 <= options.get("speed", 1) <= FASTEST:
        raise ValueError("option speed=%g: expected 0 to %g" % (options["speed"], FASTEST))


class OpeningSwitch:
    """The switch that opens the seal while a hand holds it."""

    def __init__(self):
        self.has_hand = False

    def is_held(self):
        return self.has_hand


class VirtualBoard(Board):
    """The parts of a virtual scale, in virtual time.

    console: as board.py asks. wall_us: returns microseconds of real time. speed: virtual seconds in a real one, 0 for
    as fast as it goes. rate: conversions a second. adc, driver: of converters.DRIVERS. thermometer: "ideal", or
    "ds18b20" with its driver. baud: of the serial line, 0 for as fast as USB. damaged_ppm, lost_ppm: of the bytes on
    it. The same seed and the same commands at the same virtual times give the same counts.
    """

    def __init__(
        self, console, wall_us, seed=1, speed=1.0, rate=10, adc="hx711", driver="spi", thermometer="ideal",
        serial="1", folder="", baud=0, damaged_ppm=0, lost_ppm=0, cell=None, room=None,
    ):
        clock = VirtualClock()
        self.pace = Pace(clock, wall_us, speed)
        self.cell = cell or LoadCell()
        self.room = room or Room()
        self.storage = Storage()
        self.front_panel = panel = FrontPanel()
        self.wiring = Wiring(converters.EXCITATION_V[adc])
        self.chip = converters.make_chip(adc, clock, self._bridge_v, RandomNumbers(seed), rate)
        self.wiring.connect(self.chip)
        self._serial_line = console
        if baud:
            console = Uart(console, clock, baud)
        if damaged_ppm or lost_ppm:
            console = NoisyLine(console, RandomNumbers(seed + 1), damaged_ppm, lost_ppm)
        driver = converters.make_driver(adc, driver, clock, self.chip, self.wiring, rate)
        sensor = Thermometer(lambda: clock.now_ns * 1e-9, self.room.cell_c)
        super().__init__(
            "virtual", serial, driver, console, clock, self._idle, folder, self.storage.open,
            OPERATOR_COMMANDS + PANEL_COMMANDS,
            sensor if thermometer == "ideal" else WiredThermometer(clock, sensor), OpeningSwitch(),
            buttons=(panel.is_zero_down, panel.is_tare_down), display=panel,
        )

    def time_s(self):
        """Return the seconds since power-up, with every conversion up to now made."""
        self.chip.catch_up()
        return self.clock.now_ns * 1e-9

    def advance(self, limit_ns=None):
        """Let time pass until the ADC may have news, not beyond limit_ns, as far as the pace allows.

        Returns the real seconds still to wait for that, 0.0 where it is reached.
        """
        end_ns = self.chip.next_change_ns()
        return self.pace.advance_to(end_ns if limit_ns is None else min(end_ns, limit_ns))

    def _bridge_v(self, channel, time_ns):
        if channel != "A":
            return 0.0  # nothing is connected to B
        time_s = time_ns * 1e-9
        return self.wiring.bridge_v(self.cell.output_mv_per_v(time_s, self.room.cell_c(time_s)), time_s)

    def _idle(self, is_busy):
        """Free time stands still while nobody waits for a reading: the line is quiet and so is the processor."""
        if self.pace.is_free and not is_busy:
            self._serial_line.wait(-1)
            return
        wait_s = self.advance()
        if wait_s:
            self._serial_line.wait(int(wait_s * 1000) + 1)
