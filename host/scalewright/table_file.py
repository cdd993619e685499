"""A text table as people and other programs write it: `# key = value` lines, a header, then one row a line.

The text is UTF-8, with or without a byte order mark; lines end in LF or CRLF. A value after `key =` is a string, a
number, a boolean or a date of TOML 1.0. Cells are separated by commas and quoted as in RFC 4180, without line breaks
inside, so that a row is a line. Blank lines mean nothing. Whatever is wrong is one InputError that names file, line
and column, what was found and what was expected.
"""

import csv
import io
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from typing import BinaryIO, TextIO

from scalewright.errors import InputError, ScalewrightError

MAX_BYTES = 1 << 24
MAX_LINE = 2000  # characters
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_MAX_NUMBER_LENGTH = 50
_SIZE = 15  # a number other than 0 lies between 10**-15 and 10**15


@dataclass(frozen=True)
class Line:
    """One line of a file, and where it stands."""

    file: str
    number: int
    text: str

    def problem(self, message: str, column: str = "") -> InputError:
        """Return the error that says what is wrong here."""
        return InputError(message, file=self.file, line=self.number, column=column)


@dataclass(frozen=True)
class Row:
    """The cells of one line, by the names of their columns."""

    line: Line
    cells: Mapping[str, str]

    def problem(self, column: str, message: str) -> InputError:
        """Return the error that says what is wrong with one cell."""
        return self.line.problem(message, column)

    def text(self, column: str) -> str:
        return self.cells[column].strip()

    def number(self, column: str) -> Decimal:
        """Return the cell's number, every digit of it. Raises InputError unless it is finite and of a sane size."""
        text = self.text(column)
        if len(text) > _MAX_NUMBER_LENGTH or not _NUMBER.fullmatch(text):
            raise self.problem(column, f"{_shortened(text)} found; expected a finite number such as 12.5")
        value = Decimal(text)
        if value and not -_SIZE <= value.adjusted() < _SIZE:
            raise self.problem(column, f"{_shortened(text)} found; expected 0 or a size from 1e-{_SIZE} to 1e{_SIZE}")
        return value

    def optional_number(self, column: str) -> Decimal | None:
        """Return the cell's number, None where the cell is empty."""
        return self.number(column) if self.text(column) else None


@dataclass(frozen=True)
class Table:
    """What a table file holds."""

    file: str
    metadata: Mapping[str, object]
    metadata_lines: Mapping[str, Line]
    """where each key stands"""
    columns: tuple[str, ...]
    """as the header names them, in its order"""
    rows: tuple[Row, ...]

    def problem_with(self, key: str, message: str) -> InputError:
        """Return the error that says what is wrong with one metadata value."""
        return self.metadata_lines[key].problem(f"{key} = {self.metadata[key]!a} found; {message}")


def read_table(path: str | os.PathLike[str], columns: Sequence[str]) -> Table:
    """Return the table in a file; its header must name all `columns`, in any order, and may name more."""
    file = os.fspath(path)
    with reading(file) as stream:
        data = stream.read(MAX_BYTES + 1)
    return parse_table(data, file, columns)


@contextmanager
def reading(file: str) -> Iterator[BinaryIO]:
    """Open a table file. Raises InputError where it cannot be read."""
    try:
        with open(file, "rb") as stream:
            yield stream
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise InputError(f"cannot be read: {reason}; expected a CSV file", file=file) from error


def parse_table(data: bytes, file: str, columns: Sequence[str]) -> Table:
    """Return the table in the bytes of a file, as `read_table` does."""
    lines = _lines(data, file)
    start = next((k for k, line in enumerate(lines) if not line.text.startswith("#")), len(lines))
    metadata: dict[str, object] = {}
    places: dict[str, Line] = {}
    for line in lines[:start]:
        key, value = _metadata_entry(line)
        if key in places:
            raise line.problem(f"{key} stands in line {places[key].number} already; expected once")
        metadata[key] = value
        places[key] = line
    if start == len(lines):
        raise InputError(f"the header is missing; expected {','.join(columns)}", file=file, line=1)
    names = _header(lines[start], columns)
    if start + 1 == len(lines):
        raise lines[start].problem("no row below the header; expected at least one")
    return Table(file, metadata, places, names, tuple(_row(line, names) for line in lines[start + 1 :]))


def render_table(metadata: Mapping[str, object], columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return the text of a table file; None becomes an empty cell."""
    out = io.StringIO()
    for key, value in metadata.items():
        out.write(f"# {key} = {_toml(value)}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return out.getvalue()


def replace_file(path: str | os.PathLike[str], text: str) -> None:
    """Make `text` the file's content: after a power cut the file is the old one or the new one, never a mixture."""
    with replacing(path) as stream:
        stream.write(text)


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[TextIO]:
    """Open the text that becomes the file's content at the end, as a whole; nothing changes where there is an error."""
    temporary = f"{os.fspath(path)}.{os.getpid()}.new"
    try:
        try:
            with open(temporary, "x", encoding="utf-8", newline="") as stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            os.replace(temporary, path)
        except BaseException:
            if os.path.exists(temporary):
                os.unlink(temporary)
            raise
    except OSError as error:
        raise ScalewrightError(f"{os.fspath(path)}: cannot be written: {str(error.strerror).lower()}") from error


def parse_rows(data: bytes, file: str, columns: tuple[str, ...], first_line: int) -> tuple[Row, ...]:
    """Return the rows in some of a file's bytes, from a line with this number on; columns: as the header names them."""
    return tuple(_row(line, columns) for line in _lines(data, file, first_line))


def _lines(data: bytes, file: str, first: int = 1) -> list[Line]:
    """Return the lines that are not blank, with their numbers."""
    if len(data) > MAX_BYTES:
        raise InputError(f"more than {MAX_BYTES >> 20} MiB; expected a table of observations", file=file)
    if not data:
        raise InputError("the file is empty; expected a header and rows", file=file, line=1)
    try:
        text = data.decode("utf-8-sig")
        position = data.find(b"\0")
    except UnicodeDecodeError as error:
        position = error.start + (len(data) - len(error.object))  # the decoder does not count a byte order mark
    if position >= 0:
        number = data.count(b"\n", 0, position) + first
        raise InputError(f"byte 0x{data[position]:02X} found; expected text in UTF-8", file=file, line=number)
    lines = [Line(file, k, line.removesuffix("\r")) for k, line in enumerate(text.split("\n"), first) if line.strip()]
    for line in lines:
        if len(line.text) > MAX_LINE:
            raise line.problem(f"{len(line.text)} characters; expected {MAX_LINE} at most")
    return lines


def _metadata_entry(line: Line) -> tuple[str, object]:
    import tomllib

    text = line.text.removeprefix("#").strip()
    key, _, value = (part.strip() for part in text.partition("="))
    try:
        if not _BARE_KEY.fullmatch(key) or value.startswith(("[", "{")):
            raise ValueError
        entry = tomllib.loads(text, parse_float=Decimal)[key]
        if isinstance(entry, Decimal) and not entry.is_finite():
            raise ValueError
    except (ValueError, ArithmeticError) as error:
        message = f'{_shortened(line.text)} found; expected # key = value, with text in "quotes"'
        raise line.problem(message) from error
    return key, entry


def _header(line: Line, columns: Sequence[str]) -> tuple[str, ...]:
    names = tuple(name.strip() for name in _cells(line))
    for name in columns:
        if name not in names:
            message = f"missing from the header {_shortened(line.text)}; expected {','.join(columns)}"
            raise line.problem(message, name)
    for name in names:
        if names.count(name) > 1:
            raise line.problem("twice in the header; expected once", name or "without a name")
    return names


def _row(line: Line, names: tuple[str, ...]) -> Row:
    cells = _cells(line)
    if len(cells) != len(names):
        column = names[len(cells)] if len(cells) < len(names) else ""
        raise line.problem(f"{len(cells)} cells found; expected {len(names)}, as in the header", column)
    return Row(line, dict(zip(names, cells, strict=True)))


def _cells(line: Line) -> list[str]:
    try:
        return next(csv.reader([line.text], strict=True))
    except csv.Error as error:
        raise line.problem(f"{error}; expected cells separated by commas") from error


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        import json

        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return str(value)


def _shortened(text: str) -> str:
    """Return the text in quotes, on one line, with anything unprintable spelled out."""
    return ascii(text if len(text) <= 40 else text[:37] + "...")
