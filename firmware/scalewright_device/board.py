"""What a board file hands to the device: its parts, already wired. One file in boards/ makes one of these."""


class Board:
    """The parts of one board.

    name, serial_number: text for the identification.
    adc: a driver as adc/interface.py describes.
    console: `read_byte()` returns the next byte received or None, at once; `write(text)` sends text, or drops it where
        nobody takes it, at once.
    clock: `ticks_ms()`, `ticks_us()`, `ticks_diff(a, b)`, `sleep_us(n)`; on a board the `time` module itself.
    idle: `idle(is_busy)` is called when there is nothing to do; may wait for a millisecond or so. is_busy: does
        somebody wait for a reading?
    open: opens a file for the coefficients; folder: where they live, "" or with a final "/".
    commands: (header, handler) pairs that only this board has.
    thermometer: `read()` returns the temperature of the cell in 1/16 C, or None where there is no fresh one, at once;
        None where the board has no sensor.
    opening_switch: `is_held()`: does a hand hold the switch or jumper that opens the seal? None: the board has none.
    watchdog: `watchdog()` starts the board's watchdog, of some seconds, and returns it, with `feed()`; None: none.
    reset: `reset()` starts the board anew; needed with a watchdog.
    buttons: two functions that say whether the zero and the tare button are down; None: the board has none.
    display: as panel.py asks, beside the buttons; None: the board has none.
    """

    def __init__(
        self, name, serial_number, adc, console, clock, idle, folder="", open=open, commands=(), thermometer=None,
        opening_switch=None, watchdog=None, reset=None, buttons=None, display=None,
    ):
        self.name = name
        self.serial_number = serial_number
        self.adc = adc
        self.console = console
        self.clock = clock
        self.idle = idle
        self.folder = folder
        self.open = open
        self.commands = commands
        self.thermometer = thermometer
        self.opening_switch = opening_switch
        self.watchdog = watchdog
        self.reset = reset
        self.buttons = buttons
        self.display = display
