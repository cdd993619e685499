"""`scalewright record`: raw readings into a file, while loads and temperatures are gone through."""

import argparse
import json
import re
import sys
from decimal import Decimal

from scalewright.command_line.numbers import number
from scalewright.errors import InputError

_UNITS_S = {"s": 1, "min": 60, "h": 3600}
_STEP = re.compile(r"(?P<load>[^:@]+):(?P<duration>[^:@]+)(@(?P<air>[^:@]+))?")
_EPILOG = """examples:
  record --port URL --duration 30min --load 0 night.csv
  record --port URL --step 0:2min --step 3000:30min --step 0:15min creep.csv
  record --port URL --step 0:1h@10 --step 3000:1h --step 0:1h@40 --step 3000:1h soak.csv
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.epilog, parser.formatter_class = _EPILOG, argparse.RawDescriptionHelpFormatter
    parser.add_argument("file", metavar="OUT.csv", help="the recording; a new name")
    parser.add_argument("--port", required=True, metavar="URL", help="device name or URL; virtual://bench: no hardware")
    parser.add_argument("--duration", metavar="TIME", help="how long, such as 90s, 30min or 12h, by the device's clock")
    parser.add_argument("--load", default="0", metavar="G", help="the load that is on all the while (default 0)")
    parser.add_argument(
        "--step",
        action="append",
        metavar="LOAD:TIME[@AIR_C]",
        help="a load in grams for a time, once the air is brought to a temperature; again for each step",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Record; whatever ends it, what was recorded until then is kept."""
    from scalewright.command_line.carry_out import operator_for
    from scalewright.link.reading import Reading
    from scalewright.link.scale import Scale
    from scalewright.procedures.recording import Step, record
    from scalewright.recording_writer import RecordingWriter

    steps = [Step(*step) for step in _steps(arguments)]
    left_out = 0
    with Scale.open(arguments.port) as scale:
        who = scale.identity
        named = {"scale": who.serial_number, "firmware": who.firmware, "coefficients": who.coefficients}
        with RecordingWriter(arguments.file, named) as out:

            def keep(reading: Reading, load_g: Decimal) -> None:
                nonlocal left_out
                if reading.counts is None:
                    left_out += 1
                else:
                    out.add(reading.time_ms, reading.counts, reading.temperature_c, load_g)

            try:
                record(scale, operator_for(scale), steps, keep)
            except BaseException:
                print(f"{arguments.file}: {out.readings} readings until then are kept", file=sys.stderr)
                raise
        missed = scale.conversation.readings_missed
    result = {"file": arguments.file, "readings": out.readings, "without_counts": left_out, "missed": missed}
    print(json.dumps(result) if arguments.json else _report(result))
    return 0


def _report(result: dict[str, object]) -> str:
    lost = f"{result['without_counts']} without counts left out, {result['missed']} lost on the line"
    return f"{result['file']}: {result['readings']} readings; {lost}"


def _steps(arguments: argparse.Namespace) -> list[tuple[Decimal, Decimal, Decimal | None]]:
    if (arguments.duration is None) == (arguments.step is None):
        raise InputError("record takes one --duration, or one --step or more")
    if arguments.step is None:
        return [(number(arguments.load, "--load"), _seconds(arguments.duration, "--duration"), None)]
    return [_step(text) for text in arguments.step]


def _step(text: str) -> tuple[Decimal, Decimal, Decimal | None]:
    match = _STEP.fullmatch(text)
    if match is None:
        raise InputError(f"--step {text[:40]!a}; expected LOAD:TIME[@AIR_C], such as 3000:30min@25")
    air_c = None if match["air"] is None else number(match["air"], "--step", -40, 85)
    return number(match["load"], "--step"), _seconds(match["duration"], "--step"), air_c


def _seconds(text: str, option: str) -> Decimal:
    value = text.rstrip("minsh")
    unit = text[len(value) :]
    if unit not in _UNITS_S:
        raise InputError(f"{option} {text[:40]!a}; expected a time such as 90s, 30min or 12h")
    return number(value, option, Decimal("0.1")) * _UNITS_S[unit]
