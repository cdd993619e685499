"""A certificate for a spreadsheet or a database: tables as CSV, everything as JSON.

A cell that a spreadsheet would run as a formula gets an apostrophe before it (OWASP, CSV Injection): one that begins
with = + - @ a tab or a carriage return, or their full-width forms, unless the whole of it is a number.
"""

import csv
import io
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from typing import Any

from scalewright.certificates.document import Certificate, RawReading, Test
from scalewright.certificates.figures import Figures, decimal
from scalewright.certificates.print_units import PrintUnits
from scalewright.certificates.text import cleaned

_RUNS = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_NUMBER = re.compile(r"[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?")
HEADER = (
    *("certificate", "state", "load_g", "direction", "reference_mass_g", "indication_g", "error_g", "expanded_u_g"),
    *("coverage_factor", "degrees_of_freedom", "limit_g", "decision"),
)


def harmless(cell: str) -> str:
    """Return the cell so that no spreadsheet runs it; a number stays as it is."""
    return f"'{cell}" if cell.startswith(_RUNS) and not _NUMBER.fullmatch(cell) else cell


def results_csv(certificate: Certificate) -> str:
    """Return the errors of indication: RFC 4180, one row a point, in grams, rounded as on the certificate."""
    facts = cleaned(certificate)
    units = PrintUnits.of(facts.scale)
    rows = [row for test in facts.tests for row in _rows(facts.number, test, units)]
    return _csv([HEADER, *rows])


def raw_csv(certificate: Certificate) -> str:
    """Return the raw readings that every result is computed from, one row each, in the order they were taken."""
    facts = cleaned(certificate)
    rows = [[str(number), *map(_cell, vars(reading).values())] for number, reading in enumerate(facts.raw, 1)]
    return _csv([("number", *(field.name for field in fields(RawReading))), *rows])


def as_json(certificate: Certificate) -> str:
    """Return all facts as one JSON object, unrounded, beside the figures as they are reported."""
    facts = cleaned(certificate)
    units = PrintUnits.of(facts.scale)
    reported = [dict(zip(HEADER, row, strict=True)) for test in facts.tests for row in _rows(facts.number, test, units)]
    value = _value(facts) | {"reported": reported, "verification_command": facts.proof.command}
    return json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _csv(rows: Sequence[Sequence[str]]) -> str:
    out = io.StringIO()
    csv.writer(out).writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def _rows(number: str, test: Test, units: PrintUnits) -> Iterator[list[str]]:
    for point in test.points:
        figures = Figures.of(point, units)
        freedom = figures.degrees_of_freedom
        yield [
            number,
            test.state,
            f"{point.load_g:f}",
            point.direction,
            f"{decimal(point.reference_g):f}",
            f"{units.load_in_g(figures.indication):f}",
            f"{units.error_in_g(figures.error):f}",
            f"{units.error_in_g(figures.expanded_u):f}",
            str(figures.k),
            "" if freedom is None else str(freedom),
            "" if point.limit_g is None else f"{decimal(point.limit_g):f}",
            point.outcome,
        ]


def _cell(value: Any) -> str:
    if isinstance(value, tuple):
        return " + ".join(value)
    return "" if value is None else f"{value:f}" if isinstance(value, Decimal) else str(value)


def _value(value: Any) -> Any:
    """Return facts as JSON has them: exact figures as numbers, dates by ISO 8601, what is infinite as null."""
    if is_dataclass(value):
        return {field.name: _value(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_value(item) for item in value]
    if isinstance(value, Decimal | Fraction):
        return int(value) if value == int(value) else float(value)
    if isinstance(value, float):
        return value if isfinite(value) else None
    return value.isoformat() if isinstance(value, date) else value
