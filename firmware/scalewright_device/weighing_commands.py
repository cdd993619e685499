"""Commands for everyday use, as command_table.py describes: zero, tare, units, and a two-point adjustment by hand."""

from scalewright_device.command_table import CommandError, change, no_argument, on_or_off
from scalewright_device.weighing import WeighingError
from shared_calc.curve import CurveError
from shared_calc.display_unit import UNITS
from shared_calc.fit import FitError
from shared_calc.rounding import format_divisions, round_to_division
from shared_calc.two_point import TwoPointError, parse_grams


def _do(function, *arguments):
    """Do it and say why where it cannot be done."""
    try:
        return change(function, *arguments)
    except WeighingError as error:
        raise CommandError(-200, str(error))
    except (TwoPointError, CurveError, FitError) as error:
        raise CommandError(-222, str(error))


def _grams_and_parts(device, value):
    """Return a mass rounded to d, and exactly: in units of d / 2**binary_exponent."""
    record = device.chain.record
    if record is None:
        return "0,0"
    divisions = round_to_division(value, record.curve.binary_exponent)
    return "%s,%d" % (format_divisions(divisions, record.mantissa, record.power_of_ten), value)


def _zero(device, argument):
    no_argument(argument)
    return _do(device.weighing.zero)


def _initial_zero(device, argument):
    no_argument(argument)
    return _do(device.weighing.initial_zero)


def _read_zero(device, argument):
    """How far the zero lies from that of the calibration."""
    no_argument(argument)
    return _grams_and_parts(device, device.chain.zero())


def _clear_zero(device, argument):
    """Back to the zero of the calibration, and to gross values."""
    no_argument(argument)
    device.chain.clear_zero()
    return ""


def _set_tracking(device, argument):
    device.weighing.is_tracking = on_or_off(argument)
    return ""


def _is_tracking(device, argument):
    no_argument(argument)
    return "1" if device.weighing.is_tracking else "0"


def _tare(device, argument):
    no_argument(argument)
    return _do(device.weighing.tare)


def _read_tare(device, argument):
    no_argument(argument)
    return _grams_and_parts(device, device.chain.tare())


def _clear_tare(device, argument):
    no_argument(argument)
    device.chain.clear_tare()
    return ""


def _use_unit(device, argument):
    for symbol in UNITS:
        if symbol.upper() == argument.strip('"').upper():
            device.weighing.use_unit(symbol)
            return ""
    raise CommandError(-224 if argument else -109, " ".join(sorted(UNITS)))


def _read_unit(device, argument):
    no_argument(argument)
    return '"%s"' % device.weighing.unit()


def _count_pieces(device, argument):
    """What lies on the scale is so many pieces."""
    if not argument:
        raise CommandError(-109, "number of pieces expected")
    if not argument.isdigit():
        raise CommandError(-104, "number of pieces expected")
    if not 0 < int(argument) <= 1000000:
        raise CommandError(-222, "1 to 1000000 pieces")
    return _do(device.weighing.count_pieces, int(argument))


def _fetch_shown(device, argument):
    """The indication as a display shows it: in the unit chosen."""
    no_argument(argument)
    return '%s,"%s"' % (device.weighing.shown(), device.weighing.unit())


def _take_empty(device, argument):
    no_argument(argument)
    return _do(device.weighing.take_empty)


def _take_load(device, argument):
    """The known load in grams and, if they are to change, Max and division: `500,3000,0.1`."""
    if not argument:
        raise CommandError(-109, "the known load in grams expected")
    fields = argument.split(",")
    if len(fields) > 3:
        raise CommandError(-108, "load, Max and division in grams expected")
    try:
        masses = [parse_grams(field.strip()) for field in fields]
    except ValueError:
        raise CommandError(-104, "grams above 0 as decimal numbers expected")
    try:
        return _do(device.weighing.take_load, *masses)
    except ValueError:
        raise CommandError(-224, "the division must be 1, 2 or 5 times a power of ten")


WEIGHING_COMMANDS = [
    ("SENSe:ZERO", _zero),
    ("SENSe:ZERO?", _read_zero),
    ("SENSe:ZERO:INITial", _initial_zero),
    ("SENSe:ZERO:CLEar", _clear_zero),
    ("SENSe:ZERO:TRACking", _set_tracking),
    ("SENSe:ZERO:TRACking?", _is_tracking),
    ("SENSe:TARE", _tare),
    ("SENSe:TARE?", _read_tare),
    ("SENSe:TARE:CLEar", _clear_tare),
    ("UNIT:MASS", _use_unit),
    ("UNIT:MASS?", _read_unit),
    ("UNIT:PIECes", _count_pieces),
    ("FETCh:MASS?", _fetch_shown),
    ("CALibration:TWOPoint:EMPTy", _take_empty),
    ("CALibration:TWOPoint:LOAD", _take_load),
]
