"""`scalewright replay`: what a device with these coefficients makes of a recording, bit for bit."""

import argparse
import json
from functools import cache
from typing import Any, TextIO

from scalewright.analysis.replay import Counts, Keep, Readings, Summary, Times, replay_file
from scalewright.command_line.recorded_scale import read_coefficients
from scalewright.errors import InputError
from scalewright.recording_reader import NO_COUNT
from scalewright.table_file import render_table, replacing
from shared_calc.coefficient_record import CoefficientRecord, encode, identity
from shared_calc.reading import FAULTS, FLAG_NAMES, MOVING, format_flags
from shared_calc.rounding import format_divisions

_COLUMNS = ("time_s", "counts", "conditioned_counts", "indication_g", "flags")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", metavar="RECORDING", help="CSV with time_s,counts,temperature_c,load_g, or counts.npy")
    parser.add_argument(
        "--coefficients", required=True, metavar="HEX", help="what CALibration:DATA? of the scale gives, or a file"
    )
    parser.add_argument("--csv", metavar="OUT", help="write every reading to this file")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Replay and report."""
    record = read_coefficients(arguments.coefficients)
    if record is None:
        raise InputError("--coefficients: nothing found; expected what CALibration:DATA? answers")
    if arguments.csv:
        with replacing(arguments.csv) as out:
            summary = replay_file(arguments.file, record, _writer(out, arguments.file, record))
    else:
        summary = replay_file(arguments.file, record)
    result = _result(arguments.file, record, summary)
    print(json.dumps(result) if arguments.json else _report(result))
    return 0


def _writer(out: TextIO, file: str, record: CoefficientRecord) -> Keep:
    """Return what writes the readings of a piece, a row each."""
    out.write(render_table({"recording": file, "coefficients": identity(encode(record))}, _COLUMNS, ()))

    @cache
    def shown(divisions: int, flags: int) -> str:
        indication_g = "" if flags & FAULTS else format_divisions(divisions, record.mantissa, record.power_of_ten)
        return f"{indication_g},{format_flags(flags)}\n"

    def write(time_s: Times | None, counts: Counts, readings: Readings) -> None:
        times = [""] * len(counts) if time_s is None else time_s.tolist()
        raw = ["" if one == NO_COUNT else one for one in counts.tolist()]
        rows = zip(times, raw, *(column.tolist() for column in readings), strict=True)
        out.writelines(f"{time},{one},{mean},{shown(d, flags)}" for time, one, mean, _, d, flags in rows)

    return write


def _result(file: str, record: CoefficientRecord, summary: Summary) -> dict[str, Any]:
    numbers = summary.flags
    return {
        "file": file,
        "coefficients_crc": identity(encode(record)),
        "readings": sum(numbers.values()),
        "at_rest": sum(number for flags, number in numbers.items() if not flags & (FAULTS | MOVING)),
        "flags": {
            name: sum(number for flags, number in numbers.items() if flags >> k & 1)
            for k, name in enumerate(FLAG_NAMES)
            if any(flags >> k & 1 for flags in numbers)
        },
        "lowest_g": _grams(summary.lowest, record),
        "highest_g": _grams(summary.highest, record),
        "last_g": _grams(summary.last, record),
    }


def _grams(divisions: int | None, record: CoefficientRecord) -> float | None:
    if divisions is None:
        return None
    return float(format_divisions(divisions, record.mantissa, record.power_of_ten))


def _report(result: dict[str, Any]) -> str:
    indications = "none" if result["last_g"] is None else "{lowest_g:g} g to {highest_g:g} g, at last {last_g:g} g"
    lines = [
        f"{result['file']}, weighed with coefficients {result['coefficients_crc']}",
        f"readings     {result['readings']}, of which {result['at_rest']} at rest",
        f"indications  {indications.format_map(result)}",
    ]
    return "\n".join(lines + [f"{name:<13}{number}" for name, number in result["flags"].items()])
