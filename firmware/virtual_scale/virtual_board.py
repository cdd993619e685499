"""A board that is not there: the unmodified drivers on simulated pins, a cell and a room around them."""

from scalewright_device.board import Board
from virtual_scale import converters
from virtual_scale.clock import FASTEST, Pace, VirtualClock
from virtual_scale.electronics import Electronics
from virtual_scale.front_panel import PANEL_COMMANDS, FrontPanel
from virtual_scale.load_cell import LoadCell
from virtual_scale.operator_commands import OPERATOR_COMMANDS
from virtual_scale.pieces import Pieces
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
    "thermometer_lag_s": float,
    "serial": str,
    "folder": str,
    "baud": int,
    "damaged_ppm": int,
    "lost_ppm": int,
}
_PARTS = {"cell": LoadCell, "room": Room, "electronics": Electronics}


def parse_options(pairs):
    """Return the keyword arguments of VirtualBoard in (name, text) pairs. Raises ValueError, saying which is wrong.

    `cell_` before a name makes it a parameter of the load cell, `room_` of the room, `electronics_` of the electronics;
    `mass_` before the mark of a piece tells its error in g.
    """
    options = {"pieces": Pieces()}
    parameters = {kind: {} for kind in _PARTS}
    for name, text in pairs:
        kind, _, parameter = name.partition("_")
        try:
            if kind in _PARTS:
                parameters[kind][parameter] = float(text)
            elif kind == "mass":
                options["pieces"].set_error(parameter, float(text))
            else:
                options[name] = _OPTIONS[name](text)
        except KeyError:
            raise ValueError("option %s is not known; there are %s" % (name, " ".join(sorted(_OPTIONS))))
        except ValueError:
            raise ValueError("option %s=%s: expected a number" % (name, text))
    _check(options)
    for kind in _PARTS:
        options[kind] = _PARTS[kind](**parameters[kind])
    return options


def _check(options):
    adc = options.setdefault("adc", "hx711")
    driver = options.setdefault("driver", converters.DRIVERS.get(adc, ("",))[0])
    converters.check(adc, driver, options.get("rate", 10))
    if options.get("thermometer", "ideal") not in ("ideal", "ds18b20"):
        raise ValueError("option thermometer=%s: expected ideal or ds18b20" % options["thermometer"])
    if options.get("baud", 0) and not 300 <= options["baud"] <= 4000000:
        raise ValueError("option baud=%d: expected 300 to 4000000, or 0" % options["baud"])
    if not options.get("thermometer_lag_s", 1) > 0:
        raise ValueError("option thermometer_lag_s=%g: expected more than 0" % options["thermometer_lag_s"])
    if not 0 <= options.get("speed", 1) <= FASTEST:
        raise ValueError("option speed=%g: expected 0 to %g" % (options["speed"], FASTEST))


class PowerCycle(BaseException):
    """The power goes, to come back: no part of the device goes on, so nothing there may catch this."""


class _PoweredConsole:
    """A console that takes the power away before the next byte is read, where a hand wants that."""

    def __init__(self, console, board):
        self._console = console
        self._board = board

    def read_byte(self):
        if self._board.off_s is not None:
            raise PowerCycle
        return self._console.read_byte()

    def write(self, text):
        return self._console.write(text)


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

    off_s: for how many seconds a hand wants the power to go, or None. Then the next turn of the device ends by
    PowerCycle, and after `cycle_power()` a new Device can start on this board.
    """

    def __init__(
        self, console, wall_us, seed=1, speed=1.0, rate=10, adc="hx711", driver="spi", thermometer="ideal",
        thermometer_lag_s=20.0, serial="1", folder="", baud=0, damaged_ppm=0, lost_ppm=0, cell=None, room=None,
        electronics=None, pieces=None,
    ):
        clock = VirtualClock()
        self.pace = Pace(clock, wall_us, speed)
        self.cell = cell or LoadCell()
        self.room = room or Room()
        self.electronics = electronics or Electronics()
        self.pieces = pieces or Pieces()
        self.storage = Storage()
        self.front_panel = panel = FrontPanel()
        self.wiring = Wiring(converters.EXCITATION_V[adc])
        self.off_s = None
        self._adc_setup = (adc, driver, rate)
        self._chips_noise = RandomNumbers(seed)
        self._worlds_noise = RandomNumbers(seed + 2)
        self._serial_line = console
        if baud:
            console = Uart(console, clock, baud)
        if damaged_ppm or lost_ppm:
            console = NoisyLine(console, RandomNumbers(seed + 1), damaged_ppm, lost_ppm)
        sensor = Thermometer(lambda: clock.now_ns * 1e-9, self.room.cell_c, thermometer_lag_s)
        super().__init__(
            "virtual", serial, None, _PoweredConsole(console, self), clock, self._idle, folder, self.storage.open,
            OPERATOR_COMMANDS + PANEL_COMMANDS,
            sensor if thermometer == "ideal" else WiredThermometer(clock, sensor), OpeningSwitch(),
            buttons=(panel.is_zero_down, panel.is_tare_down), display=panel,
        )
        self._power_up()

    def _power_up(self):
        """Let the ADC and its driver begin."""
        adc, driver, rate = self._adc_setup
        self.chip = converters.make_chip(adc, self.clock, self._bridge_v, self._chips_noise, rate)
        self.wiring.connect(self.chip)
        self.adc = converters.make_driver(adc, driver, self.clock, self.chip, self.wiring, rate)

    def cycle_power(self):
        """Take the power away for `off_s` and give it back; a new Device on this board then starts with it.

        Returns the nanoseconds without power.
        """
        off_from_s = self.time_s()
        off_ns = int(self.off_s * 1e9)
        self.off_s = None
        self.pace.skip_to(self.clock.now_ns + off_ns)
        for part in (self.room, self.electronics):
            part.set_power(False, off_from_s)
            part.set_power(True, self.clock.now_ns * 1e-9)
        self._power_up()
        return off_ns

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
        shaking_g = self.room.shaking_g(time_s, self._worlds_noise)
        output_mv_per_v = self.cell.output_mv_per_v(time_s, self.room.cell_c(time_s), shaking_g)
        return self.electronics.input_v(self.wiring.bridge_v(output_mv_per_v, time_s), time_s, self._worlds_noise)

    def _idle(self, is_busy):
        """Free time stands still while nobody waits for a reading: the line is quiet and so is the processor."""
        if self.pace.is_free and not is_busy:
            self._serial_line.wait(-1)
            return
        wait_s = self.advance()
        if wait_s:
            self._serial_line.wait(int(wait_s * 1000) + 1)
