"""A recording of raw readings, read piece by piece: it may be larger than memory.

Columns: `time_s,counts,temperature_c,load_g`, in any order; further ones are passed over. Temperature and load may be
empty. Counts are whole and of 24 bits; an empty cell stands for a conversion that never came.
"""

import os
import re
from array import array
from collections.abc import Iterator, Sequence
from math import nan
from typing import BinaryIO, NamedTuple

from scalewright.recordings import RECORDING_COLUMNS
from scalewright.table_file import MAX_LINE, Row, parse_rows, parse_table, reading
from shared_calc.measuring_chain import COUNTS_MAX, COUNTS_MIN

NO_COUNT = -(1 << 31)
"""stands among the counts where a conversion never came"""
PIECE_BYTES = 1 << 22
_LINE_BYTES = 4 * (MAX_LINE + 1)  # a line that is too long need not be read to its end to say so
_PLAIN = re.compile(r"[0-9+.-]*")
_PLAIN_LENGTH = 15  # of a cell whose size needs no check


class Piece(NamedTuple):
    """Rows that follow one another, a column an array. What is empty is nan, of the counts NO_COUNT."""

    time_s: "array[float]"
    counts: "array[int]"
    temperature_c: "array[float]"
    load_g: "array[float]"


def read_pieces(path: str | os.PathLike[str], piece_bytes: int = PIECE_BYTES) -> Iterator[Piece]:
    """Yield the recording, some of the file's bytes at a time. Raises InputError, naming line and column."""
    file = os.fspath(path)
    with reading(file) as stream:
        head = _head(stream)
        columns = parse_table(b"".join(head), file, RECORDING_COLUMNS).columns
        data, line = head[-1], len(head)
        while data:
            data += stream.read(piece_bytes)
            data += stream.readline(_LINE_BYTES)
            yield _plain_piece(data, columns) or _piece(parse_rows(data, file, columns, line))
            line += data.count(b"\n")
            data = stream.readline(_LINE_BYTES)


def _head(stream: BinaryIO) -> list[bytes]:
    """Return the lines up to the first row."""
    lines: list[bytes] = []
    tables = 0  # header and first row
    while tables < 2 and (line := stream.readline(_LINE_BYTES)):
        lines.append(line)
        tables += bool(line.strip()) and (tables > 0 or not line.removeprefix(b"\xef\xbb\xbf").startswith(b"#"))
    return lines


def _plain_piece(data: bytes, columns: Sequence[str]) -> Piece | None:
    """Return the rows, ten times as fast as they could be checked; None where they need to be."""
    if not data.isascii() or b'"' in data:
        return None
    lines = data.decode().replace("\r\n", "\n").removesuffix("\n").split("\n")
    if {line.count(",") for line in lines} != {len(columns) - 1}:
        return None
    cells = ",".join(lines).split(",")
    own = {name: cells[columns.index(name) :: len(columns)] for name in RECORDING_COLUMNS}
    if any(max(map(len, column)) > _PLAIN_LENGTH or not _PLAIN.fullmatch("".join(column)) for column in own.values()):
        return None
    if max(map(len, own["counts"])) > len(str(COUNTS_MIN)):
        return None
    try:
        return _checked(
            list(map(float, own["time_s"])),
            [int(cell) if cell else NO_COUNT for cell in own["counts"]],
            [float(cell) if cell else nan for cell in own["temperature_c"]],
            [float(cell) if cell else nan for cell in own["load_g"]],
        )
    except ValueError:
        return None


def _checked(
    time_s: list[float], counts: list[int], temperature_c: list[float], load_g: list[float]
) -> Piece | None:
    if max(counts) > COUNTS_MAX or min([one for one in counts if one != NO_COUNT], default=0) < COUNTS_MIN:
        return None
    return Piece(array("d", time_s), array("i", counts), array("d", temperature_c), array("d", load_g))


def _piece(rows: Sequence[Row]) -> Piece:
    return Piece(
        array("d", [float(row.number("time_s")) for row in rows]),
        array("i", [_counts(row) for row in rows]),
        array("d", [_optional(row, "temperature_c") for row in rows]),
        array("d", [_optional(row, "load_g") for row in rows]),
    )


def _counts(row: Row) -> int:
    counts = row.optional_number("counts")
    if counts is None:
        return NO_COUNT
    if not COUNTS_MIN <= counts <= COUNTS_MAX or counts != int(counts):
        expected = f"a whole number from {COUNTS_MIN} to {COUNTS_MAX}, those of a 24-bit ADC, or nothing"
        raise row.problem("counts", f"{counts} found; expected {expected}")
    return int(counts)


def _optional(row: Row, column: str) -> float:
    value = row.optional_number(column)
    return nan if value is None else float(value)
