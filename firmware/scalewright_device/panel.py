"""Two buttons and a display: the scale without a host.

    zero    short: set zero                         long: the next unit
    tare    short: take the load as tare            long: clear the tare
    both    long: a two-point adjustment, guided by the display

In an adjustment tare confirms and a long zero gives up. "empty": clear the scale, confirm. Then a mass is shown: a
short zero steps through 1, 2, 5 times powers of ten; put the mass shown on the scale, confirm. All of it asks for a
load at rest, and the seal must be open.

A display has `show(text, unit, flags)`: at most 8 characters and points between them, the symbol of the unit or "", and
the flags of the reading.
"""

from scalewright_device.seal import SealError
from scalewright_device.two_slots import StorageError
from scalewright_device.weighing import WeighingError
from shared_calc.coefficient_record import CoefficientError
from shared_calc.curve import CurveError
from shared_calc.display_unit import UNITS
from shared_calc.reading import FAULTS, OVER_RANGE, UNCALIBRATED, UNDER_RANGE
from shared_calc.rounding import format_divisions
from shared_calc.two_point import LEAST_PART_OF_MAX, TwoPointError

NONE, SHORT, LONG = 0, 1, 2
_BOUNCE_MS = 20  # contacts of push buttons bounce for some milliseconds: common practice
_LONG_MS = 1000
_MESSAGE_MS = 1500
_REFRESH_MS = 100  # nobody reads faster, and a unit takes large integers
_LARGEST_MASS_G = 50000
_FAULT_TEXTS = ((UNCALIBRATED, "adjust"), (OVER_RANGE, "over"), (UNDER_RANGE, "under"), (FAULTS, "no data"))
_WEIGHING, _EMPTY, _LOAD = 0, 1, 2


class Button:
    """A push button. is_down(): its contact, bouncing as it may."""

    def __init__(self, is_down, clock):
        self._is_down = is_down
        self._clock = clock
        self._since = clock.ticks_ms()  # the contact is as it is
        self._contact = False
        self.is_held = False  # the contact once it has come to rest
        self._is_told = False

    def step(self):
        """Return LONG once it has been held so long, SHORT when it is released sooner, else NONE. Never waits."""
        now = self._clock.ticks_ms()
        contact = bool(self._is_down())
        if contact != self._contact:
            self._contact = contact
            self._since = now
        lasted_ms = self._clock.ticks_diff(now, self._since)
        if contact and self.is_held and lasted_ms >= _LONG_MS and not self._is_told:
            self._is_told = True
            return LONG
        if contact != self.is_held and lasted_ms >= _BOUNCE_MS:
            self.is_held = contact
            if not contact and not self._is_told:
                return SHORT
            self._is_told = False
        return NONE

    def ignore(self):
        """Say nothing more of this press."""
        self._is_told = True


class Panel:
    """Carries out what the buttons ask of `weighing` and shows what is weighed; `step()` never waits."""

    def __init__(self, device, is_zero_down, is_tare_down, display):
        self._device = device
        self._weighing = device.weighing
        self._clock = device.board.clock
        self._zero = Button(is_zero_down, self._clock)
        self._tare = Button(is_tare_down, self._clock)
        self._display = display
        self._shown = None
        self._number = -1  # of the reading that is shown
        self._shown_at = self._clock.ticks_ms()
        self._message = ""
        self._message_since = 0
        self._mode = _WEIGHING
        self._mass_g = 0

    def step(self):
        """Look at the buttons, and show the latest reading where it is new."""
        zero, tare = self._zero.step(), self._tare.step()
        if zero or tare:
            self._press(zero, tare)
        if zero or tare or self._is_due():
            self._number = self._device.sampler.number
            self._shown_at = self._clock.ticks_ms()
            self._show()

    def _is_due(self):
        is_new = self._device.sampler.number != self._number
        return is_new and self._clock.ticks_diff(self._clock.ticks_ms(), self._shown_at) >= _REFRESH_MS

    def _press(self, zero, tare):
        self._message = ""
        try:
            if self._mode == _WEIGHING:
                self._weigh(zero, tare)
            elif zero == LONG:
                self._mode = _WEIGHING
            elif tare:
                self._confirm()
            else:
                self._step_mass()
        except WeighingError as error:
            self._say(error.short)
        except SealError:
            self._say("sealed")
        except (TwoPointError, CoefficientError, CurveError):
            self._say("bad load")
        except (StorageError, OSError):
            self._say("no store")

    def _weigh(self, zero, tare):
        if LONG in (zero, tare) and self._zero.is_held and self._tare.is_held:
            self._zero.ignore()
            self._tare.ignore()
            self._device.seal.require_open()
            self._mode = _EMPTY
        elif zero == LONG:
            self._next_unit()
        elif zero == SHORT:
            self._weighing.zero()
        elif tare == LONG:
            self._device.chain.clear_tare()
        else:
            self._weighing.tare()

    def _next_unit(self):
        symbols = sorted(UNITS)
        unit = self._weighing.unit()
        place = symbols.index(unit) if unit in symbols else -1
        self._weighing.use_unit(symbols[(place + 1) % len(symbols)])

    def _confirm(self):
        if self._mode == _EMPTY:
            self._weighing.take_empty()
            self._mode = _LOAD
            self._mass_g = 0
            self._step_mass()
        else:
            self._weighing.take_load(self._mass_g * 1000000000)
            self._mode = _WEIGHING
            self._say("done")

    def _step_mass(self):
        """Go on to the next mass that Max allows, in whole grams."""
        if self._mode != _LOAD:
            return
        low, high = self._masses()
        mass = self._mass_g
        for _ in range(40):  # more than there are
            mass = _next_mass(mass) if mass < high else 1
            if low <= mass <= high:
                self._mass_g = mass
                return
        raise WeighingError("no mass of 1, 2 or 5 times a power of ten suits Max", "use host")

    def _masses(self):
        """Return the least and the largest mass, in grams, that may be the known load."""
        record = self._device.chain.record
        if record is None:
            return 1, _LARGEST_MASS_G
        max_ng = record.max_divisions * record.mantissa * 10 ** (record.power_of_ten + 9)
        return -(-max_ng // (LEAST_PART_OF_MAX * 1000000000)), max_ng // 1000000000

    def _say(self, message):
        self._message = message
        self._message_since = self._clock.ticks_ms()

    def _show(self):
        content = self._content()
        if content != self._shown and self._display is not None:
            self._display.show(content[0], content[1], content[2])
            self._shown = content

    def _content(self):
        flags = self._device.flags()
        if self._message:
            if self._clock.ticks_diff(self._clock.ticks_ms(), self._message_since) < _MESSAGE_MS:
                return self._message, "", flags
            self._message = ""
        if self._mode == _EMPTY:
            return "empty", "", flags
        if self._mode == _LOAD:
            return format_divisions(self._mass_g, 1, 0), "g", flags
        for fault, text in _FAULT_TEXTS:
            if flags & fault:
                return text, "", flags
        return self._weighing.shown(), self._weighing.unit(), flags


def _next_mass(mass):
    """Return the number after this one in 1, 2, 5, 10, 20, 50 …; 0 comes before 1."""
    if mass == 0:
        return 1
    first = mass
    while first >= 10:
        first //= 10
    return mass * 5 // 2 if first == 2 else mass * 2
