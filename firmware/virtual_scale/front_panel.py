"""Buttons and display of a virtual scale, and the hands and eyes for them: `VIRTual:BUTTon`, `VIRTual:DISPlay?`."""

from scalewright_device.command_table import CommandError, matches, no_argument, on_or_off
from shared_calc.reading import AT_ZERO, NET

_BUTTONS = ("ZERO", "TARE")


class FrontPanel:
    """Which buttons are down, and what is shown."""

    def __init__(self):
        self._down = [False, False]
        self.text = self.unit = ""
        self.flags = 0

    def is_zero_down(self):
        return self._down[0]

    def is_tare_down(self):
        return self._down[1]

    def hold(self, button, is_down):
        self._down[button] = is_down

    def show(self, text, unit, flags):
        self.text, self.unit, self.flags = text, unit, flags


def _hold_button(device, argument):
    """`ZERO,ON` puts a finger on a button, `ZERO,OFF` takes it away."""
    name, _, state = argument.partition(",")
    for k in range(2):
        if matches(_BUTTONS[k], name.strip().upper()):
            device.board.front_panel.hold(k, on_or_off(state.strip()))
            return ""
    raise CommandError(-224 if argument else -109, "ZERO or TARE, and ON or OFF")


def _read_display(device, argument):
    """Text, unit and the lit signs."""
    no_argument(argument)
    panel = device.board.front_panel
    signs = ("0" if panel.flags & AT_ZERO else "") + (" NET" if panel.flags & NET else "")
    return '"%s","%s","%s"' % (panel.text, panel.unit, signs.strip())


PANEL_COMMANDS = (
    ("VIRTual:BUTTon", _hold_button),
    ("VIRTual:DISPlay?", _read_display),
)
