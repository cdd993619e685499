"""Recorded data: the CSV file of calibration points, read and written without losing a digit.

Columns: `load_g,load_u_g,counts,counts_u,n,direction,temperature_c`, in any order; further columns are kept. Empty
cells: an uncertainty or temperature that was not stated, a direction that is not known. Metadata keys that mean
something here, all optional:

    degree       of the polynomial that suits these points: a whole number from 1
    counts_unit  of the `counts` column, "count" unless stated. Counts come from a 24-bit ADC and must lie inside its
                 range; any other unit (such as "mV/V", from an indicator that gives no raw counts) lifts that check
    load_unit    of the `load_g` column, "g" unless stated: for data from elsewhere that name another unit or none
"""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from scalewright.errors import InputError
from scalewright.quantities import DIRECTIONS, Observation
from scalewright.table_file import Row, Table, parse_table, read_table, render_table, replace_file
from shared_calc.measuring_chain import COUNTS_MAX, COUNTS_MIN

RECORDING_COLUMNS = ("time_s", "counts", "temperature_c", "load_g")
"""of raw readings, one a row: see recording_reader.py"""
OBSERVATION_COLUMNS = ("load_g", "load_u_g", "counts", "counts_u", "n", "direction", "temperature_c")
_UNITS = {"counts_unit": "count", "load_unit": "g"}
_MAX_UNIT_LENGTH = 20


@dataclass(frozen=True)
class Observations:
    """The calibration points of one file, in its order."""

    file: str
    points: tuple[Observation, ...]
    lines: tuple[int, ...]
    """the line of the file that each point stands on"""
    metadata: Mapping[str, object]
    extra: Mapping[str, tuple[str, ...]]
    """the cells of each further column, as they are written"""

    @property
    def degree(self) -> int:
        """The degree of polynomial that the file asks for, 1 unless it does."""
        return int(str(self.metadata.get("degree", 1)))

    @property
    def counts_unit(self) -> str:
        return str(self.metadata.get("counts_unit", _UNITS["counts_unit"]))

    @property
    def load_unit(self) -> str:
        return str(self.metadata.get("load_unit", _UNITS["load_unit"]))


def read_observations(path: str | os.PathLike[str]) -> Observations:
    """Return the points of an observations file. Raises InputError, naming file, line and column."""
    return _observations(read_table(path, OBSERVATION_COLUMNS))


def write_observations(
    path: str | os.PathLike[str],
    points: Sequence[Observation],
    metadata: Mapping[str, object] | None = None,
    extra: Mapping[str, Sequence[str]] | None = None,
) -> None:
    """Write the points so that `read_observations` gives back exactly these; the file is replaced as a whole.

    Raises InputError where that is impossible, before anything is written; ScalewrightError where the disk refuses.
    """
    metadata = metadata or {}
    extra = {name: tuple(cells) for name, cells in (extra or {}).items()}
    own_cells = ([getattr(point, column) for column in OBSERVATION_COLUMNS] for point in points)
    rows = [[*own, *further] for own, *further in zip(own_cells, *extra.values(), strict=True)]
    text = render_table(metadata, (*OBSERVATION_COLUMNS, *extra), rows)
    file = os.fspath(path)
    written = _observations(parse_table(text.encode(), file, OBSERVATION_COLUMNS))
    if (written.points, written.metadata, written.extra) != (tuple(points), metadata, extra):
        raise InputError("some value would not be read back as it is; expected decimals and one-line texts", file=file)
    replace_file(path, text)


def _observations(table: Table) -> Observations:
    _check_metadata(table)
    from_adc = table.metadata.get("counts_unit", _UNITS["counts_unit"]) == _UNITS["counts_unit"]
    return Observations(
        file=table.file,
        points=tuple(_observation(row, from_adc) for row in table.rows),
        lines=tuple(row.line.number for row in table.rows),
        metadata=table.metadata,
        extra={
            name: tuple(row.cells[name] for row in table.rows)
            for name in table.columns
            if name not in OBSERVATION_COLUMNS
        },
    )


def _check_metadata(table: Table) -> None:
    degree = table.metadata.get("degree", 1)
    if type(degree) is not int or degree < 1:
        raise table.problem_with("degree", "expected a whole number from 1")
    for key, default in _UNITS.items():
        unit = table.metadata.get(key, default)
        if not isinstance(unit, str) or not unit.isprintable() or not 1 <= len(unit.strip()) <= _MAX_UNIT_LENGTH:
            message = f'expected a text of at most {_MAX_UNIT_LENGTH} characters, such as "mV/V"'
            raise table.problem_with(key, message)


def _observation(row: Row, from_adc: bool) -> Observation:
    return Observation(
        load_g=row.number("load_g"),
        load_u_g=_uncertainty(row, "load_u_g"),
        counts=_counts(row, from_adc),
        counts_u=_uncertainty(row, "counts_u"),
        n=_number_of_readings(row),
        direction=_direction(row),
        temperature_c=row.optional_number("temperature_c"),
    )


def _counts(row: Row, from_adc: bool) -> Decimal:
    counts = row.number("counts")
    if from_adc and not COUNTS_MIN < counts < COUNTS_MAX:
        expected = f"between {COUNTS_MIN} and {COUNTS_MAX}, the ends of a 24-bit ADC, or a counts_unit in the metadata"
        raise row.problem("counts", f"{counts} found; expected a value {expected}")
    return counts


def _uncertainty(row: Row, column: str) -> Decimal | None:
    value = row.optional_number(column)
    if value is not None and value < 0:
        raise row.problem(column, f"{value} found; expected an uncertainty of 0 or more, or nothing")
    return value


def _number_of_readings(row: Row) -> int:
    n = row.number("n")
    if n < 1 or n != int(n):
        raise row.problem("n", f"{n} found; expected how many readings were averaged, a whole number from 1")
    return int(n)


def _direction(row: Row) -> str:
    direction = row.text("direction")
    if direction not in DIRECTIONS:
        raise row.problem("direction", f"{direction[:20]!a} found; expected up, down or nothing")
    return direction
