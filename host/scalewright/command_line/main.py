"""The command table, and what each way of ending means to the shell."""

import os
import sys
from collections.abc import Sequence

from scalewright import __version__
from scalewright.errors import InputError, ScalewrightError

# name -> (module, what it does). Each module has `add_arguments(parser)` and `run(arguments) -> exit code`;
# only the module of the command that was given is imported.
COMMANDS = {
    "demo": ("demo", "calibrate and check a virtual scale, then a published load-cell calibration"),
    "bench": ("terminal", "work at the bench on screens: connect, weigh, calibrate, test"),
    "weigh": ("weigh", "weigh what is on a scale, in a unit of choice, or count it"),
    "ports": ("ports", "list the ports a scale may be behind"),
    "install": ("install", "put the firmware on a board, or go back to the version before"),
    "calibrate": ("calibrate", "adjust a scale to known loads, then check every step of its range"),
    "resume": ("resume", "go on with a job that was broken off, or list those that are open"),
    "check": ("check", "check every step of a scale's range against its tolerance"),
    "daily": ("daily", "weigh one or two check masses, against the tolerance and for the control chart"),
    "verify": ("verify", "test a scale by a usual set or chosen tests, and name the faults they point to"),
    "diagnose": ("diagnose", "name what is wrong with wiring or cell, and what to check, in order"),
    "seal": ("seal", "put a scale's seal on, open it, or note how its verification ended"),
    "substitution": ("substitution", "add up test loads past the heaviest reference mass, with their uncertainty"),
    "trim": ("trim", "adjust a further unit of a design at zero and full load, then check every step"),
    "type-curve": ("type_curve", "pool calibrated units of a design into the curve that trim uses"),
    "record": ("record", "record raw readings while loads and temperatures are gone through"),
    "drift": ("drift", "tell what temperature does to zero and span, from a soak, and compensate the scale for it"),
    "creep": ("creep", "tell how a load creeps and the zero returns, from a recording"),
    "replay": ("replay", "tell what a device makes of a recording, bit for bit"),
    "filters": ("filters", "compare what the device's filter and usual ones do to noise, steps and spikes"),
    "analyse": ("analyse", "fit a calibration curve to an observations file"),
    "budget": ("budget", "the uncertainty of a calibration point by point, in use, and the smallest weight to weigh"),
    "certificate": ("certificate", "make the certificate of a finished job, on paper and for programs"),
    "label": ("label", "make labels that tie scales to their certificates"),
    "records": ("records", "see the records, and prove that none was changed"),
    "register": ("register", "keep the scales, reference mass sets and instruments there are, with their history"),
    "history": ("history", "tell how a scale drifted, what its daily checks say, and when to calibrate it next"),
    "due": ("due", "list what is to be calibrated when, the most urgent first"),
    "mass": ("mass", "tell what a weight, coins, water or a borrowed scale is worth as a reference mass"),
    "environment": ("environment", "correct a reading for air buoyancy and for gravity where the scale was adjusted"),
    "decide": ("decide", "accept or reject an error, given its uncertainty and the limit"),
}

PASSED, FAILED, BAD_INPUT, NOT_DONE, INTERRUPTED = 0, 1, 2, 3, 130
EXIT_CODES = """exit codes:
  0  done; what was tested is within its tolerance
  1  what was tested fails its tolerance, or a record does not hold
  2  the input or the options cannot be used
  3  the device, the line or the file system did not allow it"""


def run(words: Sequence[str]) -> int:
    """Run one command and return its exit code; problems go to stderr as one line."""
    name, rest = (words[0], words[1:]) if words else ("--help", ())
    if name in ("-h", "--help"):
        print(_overview())
        return PASSED
    if name == "--version":
        print(f"scalewright {__version__}")
        return PASSED
    if name not in COMMANDS:
        print(f"scalewright: no command {name!r}; expected one of {', '.join(COMMANDS)}", file=sys.stderr)
        return BAD_INPUT
    return _run_command(name, rest)


def _overview() -> str:
    """The table as text; argparse is not imported for it, for it would take longer than all the rest."""
    width = max(map(len, COMMANDS))
    lines = [f"  {name:{width}}  {summary}" for name, (_, summary) in COMMANDS.items()]
    usage = "usage: scalewright COMMAND [OPTION ...]; scalewright COMMAND --help explains one"
    return "\n".join(["Calibrate, test and keep strain-gauge scales.", "", usage, "", *lines, "", EXIT_CODES])


def _run_command(name: str, words: Sequence[str]) -> int:
    from argparse import ArgumentParser
    from importlib import import_module

    module_name, summary = COMMANDS[name]
    module = import_module(f"scalewright.command_line.{module_name}")
    parser = ArgumentParser(prog=f"scalewright {name}", description=f"{summary[0].upper()}{summary[1:]}.")
    module.add_arguments(parser)
    arguments = parser.parse_args(words)
    try:
        return int(module.run(arguments))
    except InputError as error:
        print(f"scalewright: {error}", file=sys.stderr)
        return BAD_INPUT
    except ScalewrightError as error:
        print(f"scalewright: {error}", file=sys.stderr)
        return NOT_DONE
    except BrokenPipeError:  # whoever reads the output, such as `head`, has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return PASSED
    except KeyboardInterrupt:
        print("scalewright: interrupted", file=sys.stderr)
        return INTERRUPTED
