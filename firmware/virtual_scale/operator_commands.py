"""Commands that only a virtual scale has: what its operator does with the hands on a real one."""

from scalewright_device.command_table import CommandError, matches
from virtual_scale.clock import FASTEST
from virtual_scale.wiring_faults import FAULTS

_OVERLOAD = 1.5  # parts of capacity that a cell bears without harm: typical, from memory
_PLATFORM_MM = 500.0


def _numbers(argument, at_most):
    """Return the numbers of a comma-separated list."""
    if not argument:
        raise CommandError(-109)
    fields = argument.split(",")
    if len(fields) > at_most:
        raise CommandError(-108, "at most %d numbers" % at_most)
    try:
        return [float(field) for field in fields]
    except ValueError:
        raise CommandError(-104, argument[:24])


def _within(value, low, high, unit):
    if not low <= value <= high:
        raise CommandError(-222, "%g to %g %s" % (low, high, unit))
    return value


def _place_load(device, argument):
    """Let the whole load be so many grams, at x_mm,y_mm from the middle."""
    board = device.board
    load_g, x_mm, y_mm = (_numbers(argument, 3) + [0.0, 0.0])[:3]
    _within(load_g, -board.cell.capacity_g / 10, board.cell.capacity_g * _OVERLOAD, "g")
    _within(x_mm, -_PLATFORM_MM, _PLATFORM_MM, "mm")
    _within(y_mm, -_PLATFORM_MM, _PLATFORM_MM, "mm")
    board.cell.place(load_g, board.time_s(), x_mm, y_mm)
    return ""


def _read_load(device, argument):
    cell = device.board.cell
    return "%.4f,%.1f,%.1f" % (cell.load_g, cell.x_mm, cell.y_mm)


def _set_temperature(device, argument):
    board = device.board
    (air_c,) = _numbers(argument, 1)
    board.room.set_air(_within(air_c, -40.0, 85.0, "C"), board.time_s())
    return ""


def _on_or_off(argument):
    if argument.upper() not in ("ON", "OFF"):
        raise CommandError(-224 if argument else -109, "ON or OFF")
    return argument.upper() == "ON"


def _connect_thermometer(device, argument):
    device.board.thermometer.is_connected = _on_or_off(argument)
    return ""


def _hold_switch(device, argument):
    device.board.opening_switch.has_hand = _on_or_off(argument)
    return ""


def _cut_power(device, argument):
    (number_of_bytes,) = _numbers(argument, 1)
    device.board.storage.cut_after(int(_within(number_of_bytes, 0, 1e6, "bytes")))
    return ""


def _set_fault(device, argument):
    for fault in FAULTS:
        if matches(fault, argument.upper()):
            device.board.chip.catch_up()
            device.board.wiring.fault = fault
            return ""
    raise CommandError(-224 if argument else -109, " ".join(FAULTS))


def _set_speed(device, argument):
    (speed,) = _numbers(argument, 1)
    device.board.pace.set_speed(_within(speed, 0, FASTEST, "times real time"))
    return ""


OPERATOR_COMMANDS = (
    ("VIRTual:LOAD", _place_load),
    ("VIRTual:LOAD?", _read_load),
    ("VIRTual:TEMPerature", _set_temperature),
    ("VIRTual:THERmometer", _connect_thermometer),
    ("VIRTual:SWITch", _hold_switch),
    ("VIRTual:POWer:CUT", _cut_power),
    ("VIRTual:FAULt", _set_fault),
    ("VIRTual:CLOCk:SPEed", _set_speed),
)
