"""Register items as CSV files, for spreadsheets and other programs; what was written is read back as it was.

Scales, one a line; what is not stated is left out or empty:

    key,model,serial_number,max_g,d_g,accuracy_class,e_g,handbook_44_class,tolerance,min_g,maker,place,pan,supports,
    interval_months,calibrated,state

One of accuracy_class (OIML R 76), handbook_44_class and tolerance (a file load_g,limit_g) is needed. Instruments:

    key,kind,expanded_u,k,correction,model,serial_number,place,certificate,issued_by,certified,due,state

A mass set is a file of its own. It begins with lines `# key = "BOX-F1"`, as far as they are known also for
serial_number, certificate, issued_by, certified, due, up_to_g, correlation, state. Then come the pieces, mass_g and
expanded_u_g empty where the certificate has no value:

    name,nominal_g,mass_g,expanded_u_g,k,class,drift_g,density_kg_m3,u_density_kg_m3

u_mass_g, the standard uncertainty, may stand in place of expanded_u_g and k. Dates are 2026-03-02. Each message of an
InputError names file, line and column.
"""

import os
import re
from collections.abc import Callable, Sequence
from typing import TypeVar

from scalewright.equipment import Instrument, MassSet, Piece, RegisteredScale
from scalewright.errors import InputError
from scalewright.register_fields import (
    INSTRUMENT,
    MASS_SET,
    PIECE,
    SCALE,
    Field,
    Values,
    instrument_of,
    mass_set_of,
    piece_of,
    read_fields,
    scale_of,
    texts_of,
)
from scalewright.table_file import Row, Table, read_table, render_table

Made = TypeVar("Made")
_RUNS = "[=+@\\-\uff1d\uff0b\uff0d\uff20]"
"""what a spreadsheet may take for a formula where a cell begins with it (OWASP, CSV Injection)"""
_CELL = "(?:^|(?<=[;,]))"  # where a cell may begin, whatever separates cells where the file is opened
_TO_MARK = re.compile(f"{_CELL}(?='*{_RUNS})")
_MARKED = re.compile(f"{_CELL}'(?='*{_RUNS})")


def read_scales(path: str | os.PathLike[str]) -> list[RegisteredScale]:
    """Return the scales in a file."""
    return _read(path, SCALE, ("key", "model", "serial_number", "max_g", "d_g"), scale_of)


def read_instruments(path: str | os.PathLike[str]) -> list[Instrument]:
    """Return the instruments in a file."""
    return _read(path, INSTRUMENT, ("key", "kind", "expanded_u"), instrument_of)


def read_mass_set(path: str | os.PathLike[str]) -> MassSet:
    """Return the mass set in a file."""
    table = _known(read_table(path, ("name", "nominal_g", "mass_g")), PIECE, "u_mass_g")
    for key in table.metadata:
        if key not in {field.name for field in MASS_SET}:
            raise table.problem_with(key, f"expected one of {', '.join(field.name for field in MASS_SET)}")
    pieces = [_made(_with_expanded_u(row), PIECE, piece_of) for row in table.rows]
    texts = {key: str(value) for key, value in table.metadata.items()}
    values = read_fields(MASS_SET, texts, lambda field, message: table.metadata_lines[field.name].problem(message))
    try:
        return mass_set_of(values, pieces)
    except InputError as error:
        raise InputError(error.message, file=table.file) from error


def render_scales(scales: Sequence[RegisteredScale]) -> str:
    """Return the text of the file that `read_scales` reads. What the device was like when last seen is not in it."""
    return _rendered(SCALE, scales)


def render_instruments(instruments: Sequence[Instrument]) -> str:
    """Return the text of the file that `read_instruments` reads."""
    return _rendered(INSTRUMENT, instruments)


def render_mass_set(masses: MassSet) -> str:
    """Return the text of the file that `read_mass_set` reads."""
    texts = texts_of(masses)
    stated = {field.name: texts[field.name] for field in MASS_SET if texts[field.name]}
    # A spreadsheet parts these lines at commas and semicolons: spelled out, no part of a text can become a cell.
    head = render_table(stated, (), ()).replace(",", "\\u002C").replace(";", "\\u003B")
    return head.removesuffix("\n") + _rendered(PIECE, masses.pieces)


def _read(
    path: str | os.PathLike[str], wanted: Sequence[Field], needed: Sequence[str], build: Callable[[Values], Made]
) -> list[Made]:
    return [_made(row, wanted, build) for row in _known(read_table(path, needed), wanted).rows]


def _known(table: Table, wanted: Sequence[Field], *further: str) -> Table:
    """Refuse a column that nothing would read: a misspelt one would pass for one that was left out."""
    names = [field.name for field in wanted]
    for column in table.columns:
        if column not in (*names, *further):
            raise table.rows[0].line.problem(f"no such column; expected of {', '.join(names)}", column[:40])
    return table


def _made(row: Row, wanted: Sequence[Field], build: Callable[[Values], Made]) -> Made:
    texts = {column: _as_written(row.text(column)) for column in row.cells}
    try:
        return build(read_fields(wanted, texts, lambda field, message: row.problem(field.name, message)))
    except InputError as error:
        raise error if error.file else row.line.problem(error.message) from error


def _with_expanded_u(row: Row) -> Row:
    """Return the row with U for u, k = 1, where the file has that."""
    if "u_mass_g" not in row.cells:
        return row
    if "expanded_u_g" in row.cells or "k" in row.cells:
        raise row.problem("u_mass_g", "beside expanded_u_g or k; expected one of them")
    others = {column: cell for column, cell in row.cells.items() if column != "u_mass_g"}
    return Row(row.line, {**others, "expanded_u_g": row.cells["u_mass_g"], "k": "1"})


def _rendered(columns: Sequence[Field], items: Sequence[RegisteredScale | Instrument | Piece]) -> str:
    names = [field.name for field in columns]
    rows = [[_harmless(field, texts[field.name]) for field in columns] for texts in map(texts_of, items)]
    return render_table({}, names, rows)


def _harmless(field: Field, text: str) -> str:
    """Return the text with the apostrophe that says "text" to a spreadsheet, where it would be run otherwise."""
    return _TO_MARK.sub("'", text) if field.is_text else text


def _as_written(cell: str) -> str:
    return _MARKED.sub("", cell)
