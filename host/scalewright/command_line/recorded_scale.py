"""What commands on a recording share: the scale that it is of, and its limits."""

import argparse
import os
from fractions import Fraction
from typing import Any

from scalewright.command_line.numbers import number
from scalewright.errors import InputError
from scalewright.influence_limits import Check
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientError, CoefficientRecord, decode


def add_recorded_scale_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the recording, the coefficients of its scale, and the class it is held against."""
    parser.add_argument("file", metavar="RECORDING", help="CSV with time_s,counts,temperature_c,load_g")
    parser.add_argument("--coefficients", metavar="HEX", help="what CALibration:DATA? of the scale gives, or a file")
    parser.add_argument("--class", dest="accuracy_class", default="III", choices=("I", "II", "III", "IIII"))
    parser.add_argument("--division", metavar="G", help="e in grams; default: that of the coefficients, else no limits")
    parser.add_argument("--settle", default="10", metavar="S", help="leave out so long after each load (default 10 s)")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def read_coefficients(text: str | None) -> CoefficientRecord | None:
    """Return the coefficient record in hexadecimal digits, or in a file that holds them. Raises InputError."""
    if text is None:
        return None
    file = text if os.path.isfile(text) else ""
    if file:
        with open(file, encoding="ascii", errors="replace") as stream:
            text = stream.read(4096)
    try:
        record: CoefficientRecord = decode(bytes.fromhex(text.strip().strip('"')))
    except (ValueError, CoefficientError) as error:
        raise InputError(f"--coefficients: {error}; expected what CALibration:DATA? answers", file=file) from error
    return record


def limits_of(arguments: argparse.Namespace, record: CoefficientRecord | None) -> AccuracyClass | None:
    """Return the class to hold the recording against; None where nobody said what e is."""
    if arguments.division:
        e_g = Fraction(number(arguments.division, "--division", 0))
    elif record:
        e_g = record.mantissa * Fraction(10) ** record.power_of_ten
    else:
        return None
    return AccuracyClass(arguments.accuracy_class, e_g)


def check_lines(checks: list[Check]) -> list[str]:
    """Return the lines of a table of checks."""
    return [
        f"{check.what:<32}{check.change_g:>+10.4f} g  u {check.u_g:<9.2g} limit {float(check.limit.limit_g):<8.4g} "
        f"{'pass' if check.passes else 'FAIL'}  {check.limit.source}"
        for check in checks
    ]


def checks_as_json(checks: list[Check]) -> list[dict[str, Any]]:
    """Return the checks for --json."""
    return [
        {
            "what": check.what,
            "change_g": check.change_g,
            "u_change_g": check.u_g,
            "limit_g": float(check.limit.limit_g),
            "source": check.limit.source,
            "passes": check.passes,
        }
        for check in checks
    ]
