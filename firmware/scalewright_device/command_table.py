"""Command text to reply text: the whole command surface of the device, and no input or output.

Headers are in the notation of SCPI-1999 (volume 1, 6.2): capitals are the short form, the whole word the long one.
A handler takes the device and the argument text and returns the reply, "" where there is none to give, or LATER.
Error numbers and texts are those of SCPI-1999, volume 2, chapter 21.8.
"""

import binascii

from scalewright_device.event_log import REMARK_CHARACTERS
from scalewright_device.faults import CAUSES
from scalewright_device.seal import NoSwitchError, SealError
from scalewright_device.two_slots import StorageError
from shared_calc.coefficient_record import CoefficientError, identity
from shared_calc.reading import FAULTS, format_flags

VERSION = "0.1.0"
LATER = object()  # the reply is the next reading

_ERRORS = {
    -101: "Invalid character",
    -104: "Data type error",
    -108: "Parameter not allowed",
    -109: "Missing parameter",
    -113: "Undefined header",
    -200: "Execution error",
    -203: "Command protected",
    -222: "Data out of range",
    -224: "Illegal parameter value",
    -230: "Data corrupt or stale",
    -241: "Hardware missing",
    -250: "Mass storage error",
    -310: "System error",
    -321: "Out of memory",
    -350: "Queue overflow",
    -360: "Communication error",
    -363: "Input buffer overrun",
}


class CommandError(Exception):
    """The command cannot be carried out: an SCPI error number, and what this device has to add."""

    def __init__(self, code, detail=""):
        super().__init__(code, detail)
        self.code = code
        self.detail = detail


def describe_error(code, detail=""):
    """Return the error as SYSTem:ERRor? gives it: `-222,"Data out of range; 0 to 3000 g"`."""
    detail = detail.replace('"', "'").replace("~", "-")  # neither ends the string nor looks like a frame
    return '%d,"%s%s%s"' % (code, _ERRORS.get(code, "No error"), "; " if detail else "", detail)


def execute(device, line, commands):
    """Carry out one command line and return its reply. Raises CommandError."""
    header, _, argument = line.strip().partition(" ")
    header = header.upper()
    if header.startswith(":"):  # from the root of the tree, where every line starts anyway (SCPI-1999 volume 1, 6.2.4)
        header = header[1:]
    for pattern, handler in commands:
        if matches(pattern, header):
            return handler(device, argument.strip())
    raise CommandError(-113, header[:24])


def matches(pattern, header):
    """Is `header`, in capitals, the short or the long form of `pattern` at every node?"""
    nodes = header.split(":")
    wanted = pattern.split(":")
    if len(nodes) != len(wanted):
        return False
    for k in range(len(nodes)):
        node = nodes[k]
        if node != wanted[k].upper() and node != _short_form(wanted[k]):
            return False
    return True


def _short_form(node):
    return "".join([c for c in node if not "a" <= c <= "z"])


def no_argument(argument):
    """Refuse an argument."""
    if argument:
        raise CommandError(-108, argument[:24])


def on_or_off(argument):
    """Return a Boolean argument: SCPI-1999 volume 1, 7.3."""
    if argument.upper() not in ("ON", "1", "OFF", "0"):
        raise CommandError(-224 if argument else -109, "ON or OFF")
    return argument.upper() in ("ON", "1")


def _identify(device, argument):
    no_argument(argument)
    store = device.store
    coefficients = identity(store.data) if store.data else "none"
    return "Scalewright,%s,%s,%s coefficients=%s events=%d" % (
        device.board.name,
        device.board.serial_number,
        VERSION,
        coefficients,
        device.seal.log.count,
    )


def _reset(device, argument):
    no_argument(argument)
    device.stop_stream()
    return ""


def _clear_status(device, argument):
    no_argument(argument)
    del device.errors[:]
    return ""


def _self_test(device, argument):
    """0 where all is well, else a number: the faults of the latest reading, and 65536 times the causes seen."""
    no_argument(argument)
    return str(device.flags() & FAULTS | device.diagnosis.causes() << 16)


def _diagnose(device, argument):
    """The names of faults and causes, the noise, and the smallest and largest counts since the start."""
    no_argument(argument)
    diagnosis = device.diagnosis
    causes = diagnosis.causes()
    names = [CAUSES[k] for k in range(len(CAUSES)) if causes >> k & 1]
    if device.flags() & FAULTS or not names:
        names = [format_flags(device.flags() & FAULTS)] + names
    figures = [diagnosis.noise(), diagnosis.smallest, diagnosis.largest]
    return ",".join(["|".join(names)] + ["" if one is None else str(one) for one in figures])


def _operation_complete(device, argument):
    no_argument(argument)
    return "1"


def _next_error(device, argument):
    no_argument(argument)
    return device.errors.pop(0) if device.errors else describe_error(0)


def _list_headers(device, argument):
    no_argument(argument)
    return " ".join([pattern for pattern, _ in device.commands])


def _read_next(device, argument):
    no_argument(argument)
    return LATER


def _fetch_last(device, argument):
    no_argument(argument)
    return device.reading()


def _fetch_counts(device, argument):
    no_argument(argument)
    if device.sampler.flags:
        raise CommandError(-230, format_flags(device.sampler.flags))
    return str(device.sampler.counts)


def _set_continuous(device, argument):
    if on_or_off(argument):
        device.start_stream()
    else:
        device.stop_stream()
    return ""


def _is_continuous(device, argument):
    no_argument(argument)
    return "1" if device.is_streaming else "0"


def _store_coefficients(device, argument):
    if not argument:
        raise CommandError(-109, "coefficient record expected")
    try:
        if " " in argument:  # which some releases of MicroPython would skip
            raise ValueError
        data = binascii.unhexlify(argument.strip('"'))
    except ValueError:
        raise CommandError(-104, "hexadecimal digits in quotes expected")
    return change(device.change_coefficients, data)


def change(function, *arguments):
    """Make a change and say why where it cannot be made."""
    try:
        function(*arguments)
    except SealError as error:
        raise CommandError(-203, str(error))
    except NoSwitchError as error:
        raise CommandError(-241, str(error))
    except CoefficientError as error:
        raise CommandError(-222, str(error))
    except (StorageError, OSError) as error:
        raise CommandError(-250, str(error))
    return ""


def _read_coefficients(device, argument):
    no_argument(argument)
    if device.store.data is None:
        raise CommandError(-230, "no coefficients stored")
    return '"%s"' % binascii.hexlify(device.store.data).decode()


def _set_seal(device, argument):
    return change(device.seal.close if on_or_off(argument) else device.seal.open)


def _is_sealed(device, argument):
    no_argument(argument)
    return "1" if device.seal.is_sealed else "0"


def _set_verification(device, argument):
    """ACCepted, or REJected and why: `CALibration:VERification REJected,"corner error"`."""
    result, comma, remark = argument.partition(",")
    remark = remark.strip().strip('"')
    if matches("ACCepted", result.strip().upper()) and not comma:
        return change(device.seal.accept)
    if not matches("REJected", result.strip().upper()) or not remark:
        raise CommandError(-224 if argument else -109, "ACCepted or REJected and why")
    if len(remark) > REMARK_CHARACTERS or '"' in remark:
        raise CommandError(-222, "at most %d characters, no quotes" % REMARK_CHARACTERS)
    return change(device.seal.reject, remark)


def _read_verification(device, argument):
    no_argument(argument)
    return '%s,"%s"' % (device.seal.verification(), device.seal.log.remark)


def _count_mishaps(device, argument):
    """How many exceptions there were outside a command since the start."""
    no_argument(argument)
    return str(device.mishaps)


def _list_events(device, argument):
    """How many there were, then the last ones, newest first: number, device time in s, reason, coefficients."""
    no_argument(argument)
    log = device.seal.log
    return ";".join([str(log.count)] + ["%d,%d,%s,%s,%s" % event for event in log.events()])


COMMANDS = [
    ("*IDN?", _identify),
    ("*RST", _reset),
    ("*CLS", _clear_status),
    ("*TST?", _self_test),
    ("*OPC?", _operation_complete),
    ("READ?", _read_next),
    ("FETCh?", _fetch_last),
    ("FETCh:COUNts?", _fetch_counts),
    ("INITiate:CONTinuous", _set_continuous),
    ("INITiate:CONTinuous?", _is_continuous),
    ("CALibration:DATA", _store_coefficients),
    ("CALibration:DATA?", _read_coefficients),
    ("CALibration:SEAL", _set_seal),
    ("CALibration:SEAL?", _is_sealed),
    ("CALibration:VERification", _set_verification),
    ("CALibration:VERification?", _read_verification),
    ("DIAGnostic?", _diagnose),
    ("SYSTem:EVENts?", _list_events),
    ("SYSTem:MISHaps?", _count_mishaps),
    ("SYSTem:ERRor?", _next_error),
    ("SYSTem:HELP:HEADers?", _list_headers),
]
