"""Commands that only a virtual scale has: what its operator does with the hands on a real one."""

from scalewright_device.command_table import CommandError, matches, no_argument, on_or_off
from virtual_scale.clock import FASTEST
from virtual_scale.wiring_faults import FAULTS

_BREAKS = 3.0  # parts of capacity at which a cell breaks: typical, from memory
_STEEPEST = 200.0  # per mille
_LONGEST_S = 1e7


def _numbers(argument, at_most):
    """Return the numbers of a comma-separated list."""
    if not argument:
        raise CommandError(-109)
    fields = argument.split(",")
    if len(fields) > at_most:
        raise CommandError(-108, "at most %d numbers" % at_most)
    return [_number(field) for field in fields]


def _number(field, read=float):
    try:
        return read(field)
    except ValueError:
        raise CommandError(-104, field[:24])


def _pair(argument):
    """Return what stands before and after the one comma."""
    first, comma, second = argument.partition(",")
    if not comma:
        raise CommandError(-109, "two fields, with a comma between")
    return first.strip(), second.strip()


def _within(value, low, high, unit):
    if not low <= value <= high:
        raise CommandError(-222, "%g to %g %s" % (low, high, unit))
    return value


def _place_load(device, argument):
    """Let the whole load be these pieces, `500+200+200*`, at x_mm,y_mm from the middle."""
    board = device.board
    cell = board.cell
    marks, _, place = argument.partition(",")
    if not marks:
        raise CommandError(-109)
    load_g = _number(marks, board.pieces.mass_g)
    x_mm, y_mm = ((_numbers(place, 2) if place else []) + [0.0, 0.0])[:2]
    _within(load_g, -cell.capacity_g / 10, cell.capacity_g * _BREAKS, "g")
    _within(x_mm, -cell.pan_half_width_mm, cell.pan_half_width_mm, "mm")
    _within(y_mm, -cell.pan_half_depth_mm, cell.pan_half_depth_mm, "mm")
    cell.place(load_g, board.time_s(), x_mm, y_mm)
    return ""


def _read_load(device, argument):
    no_argument(argument)
    cell = device.board.cell
    return "%.4f,%.1f,%.1f" % (cell.load_g, cell.x_mm, cell.y_mm)


def _falsify_piece(device, argument):
    """`500,-0.8`: the piece marked 500 is really 499.2 g."""
    mark, error = _pair(argument)
    error_g = _within(_number(error), -1e4, 1e4, "g")
    _number(mark, lambda mark: device.board.pieces.set_error(mark, error_g))
    return ""


def _list_wrong_pieces(device, argument):
    no_argument(argument)
    return ";".join(["%s:%.4f" % piece for piece in device.board.pieces.wrong()]) or "NONE"


def _measure_pan(device, argument):
    no_argument(argument)
    return "%.1f,%.1f" % (device.board.cell.pan_half_width_mm, device.board.cell.pan_half_depth_mm)


def _tilt(device, argument):
    board = device.board
    slopes = [_within(slope, -_STEEPEST, _STEEPEST, "per mille") for slope in _numbers(argument, 2)]
    if len(slopes) < 2:
        raise CommandError(-109, "two slopes per mille, with a comma between")
    board.cell.tilt(slopes[0], slopes[1], board.time_s())
    return ""


def _read_tilt(device, argument):
    no_argument(argument)
    return "%.1f,%.1f" % device.board.cell.tilt_per_mille


def _set_temperature(device, argument):
    board = device.board
    (air_c,) = _numbers(argument, 1)
    board.room.set_air(_within(air_c, -40.0, 85.0, "C"), board.time_s())
    return ""


def _connect_thermometer(device, argument):
    device.board.thermometer.is_connected = on_or_off(argument)
    return ""


def _hold_switch(device, argument):
    device.board.opening_switch.has_hand = on_or_off(argument)
    return ""


def _cut_power(device, argument):
    (number_of_bytes,) = _numbers(argument, 1)
    device.board.storage.cut_after(int(_within(number_of_bytes, 0, 1e6, "bytes")))
    return ""


def _cycle_power(device, argument):
    (off_s,) = _numbers(argument, 1)
    device.board.off_s = _within(off_s, 0, _LONGEST_S, "s")
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


def _commands_for(header, name):
    """Return the commands that change and tell the parameters of a part of the board."""

    def change(device, argument):
        parameter, value = _pair(argument)
        board = device.board
        try:
            getattr(board, name).change(board.time_s(), {parameter: _number(value)})
        except ValueError as error:
            raise CommandError(-224, str(error))
        return ""

    def tell(device, argument):
        value = getattr(type(getattr(device.board, name)), argument, None)
        if not isinstance(value, float):
            raise CommandError(-224 if argument else -109, "a parameter that is a number")
        return "%.9g" % getattr(getattr(device.board, name), argument)

    return ((header, change), (header + "?", tell))


OPERATOR_COMMANDS = (
    ("VIRTual:LOAD", _place_load),
    ("VIRTual:LOAD?", _read_load),
    ("VIRTual:MASS", _falsify_piece),
    ("VIRTual:MASS?", _list_wrong_pieces),
    ("VIRTual:PAN?", _measure_pan),
    ("VIRTual:TILT", _tilt),
    ("VIRTual:TILT?", _read_tilt),
    ("VIRTual:TEMPerature", _set_temperature),
    ("VIRTual:THERmometer", _connect_thermometer),
    ("VIRTual:SWITch", _hold_switch),
    ("VIRTual:POWer:CUT", _cut_power),
    ("VIRTual:POWer:CYCLe", _cycle_power),
    ("VIRTual:FAULt", _set_fault),
    ("VIRTual:CLOCk:SPEed", _set_speed),
)
OPERATOR_COMMANDS += _commands_for("VIRTual:CELL", "cell")
OPERATOR_COMMANDS += _commands_for("VIRTual:ROOM", "room")
OPERATOR_COMMANDS += _commands_for("VIRTual:ELECtronics", "electronics")
