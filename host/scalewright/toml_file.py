"""A TOML file as people write it, read so that whatever is wrong is one InputError naming file, line and key.

A table hands out its values by kind. What it was not asked for is a mistake too: a misspelt key would otherwise pass
for a default.
"""

import os
import re
import tomllib
from typing import Any

from scalewright.errors import InputError

MAX_BYTES = 1 << 20
_LARGEST = 1e15
_HEADER = re.compile(r"\s*\[+(.*?)\]+\s*(#.*)?")


class TomlTable:
    """The values under one header."""

    def __init__(
        self, file: str, lines: list[str], values: dict[str, Any], name: str = "", occurrence: int = 0
    ) -> None:
        self.file = file
        self.name = name
        self._values = values
        self._lines = lines
        self._occurrence = occurrence
        self._known: set[str] = set()
        self._tables: dict[tuple[str, int], TomlTable] = {}

    def __contains__(self, key: str) -> bool:
        self._known.add(key)
        return key in self._values

    def problem(self, key: str, message: str) -> InputError:
        """Return the error that says what is wrong with one value."""
        return InputError(message, file=self.file, line=self._line_of(key), column=self._place_of(key))

    def number(self, key: str, low: float | None = None, default: float | None = None, *, above: bool = False) -> float:
        """Return a number from `low` or, where `above`, above it. Without a default it must be there."""
        if default is not None and key not in self:
            return default
        return self._checked(key, self._value(key, "a number"), low, above)

    def whole_number(self, key: str, low: int, default: int) -> int:
        value = self.number(key, low, default)
        if value != int(value):
            raise self.problem(key, f"{value:g} found; expected a whole number")
        return int(value)

    def numbers(
        self, key: str, low: float | None = None, default: tuple[float, ...] | None = None
    ) -> tuple[float, ...]:
        """Return a list of numbers."""
        if default is not None and key not in self:
            return default
        return tuple(self._checked(key, value, low, False) for value in self._list(key, "a list of numbers"))

    def series(self, key: str) -> tuple[tuple[float, ...], ...]:
        """Return a list of lists of numbers; one list alone is a list of one."""
        found = self._list(key, "a list of lists of numbers")
        rows = found if all(isinstance(row, list) for row in found) else [found]
        return tuple(tuple(self._checked(key, value, None, False) for value in row) for row in rows)

    def text(self, key: str, default: str | None = None) -> str:
        value = default if default is not None and key not in self else self._value(key, "a text")
        if not isinstance(value, str):
            raise self._wrong(key, value, "a text")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts."""
        values = self._list(key, "a list of texts")
        for value in values:
            if not isinstance(value, str):
                raise self._wrong(key, value, "a text")
        return tuple(values)

    def flag(self, key: str, default: bool) -> bool:
        value = self._value(key, "true or false") if key in self else default
        if not isinstance(value, bool):
            raise self._wrong(key, value, "true or false")
        return value

    def table(self, key: str) -> "TomlTable":
        """Return the table under a header; an empty one is needed too."""
        value = self._value(key, f"a table [{key}]")
        if not isinstance(value, dict):
            raise self._wrong(key, value, f"a table [{key}]")
        return self._child(key, value)

    def tables(self) -> dict[str, "TomlTable"]:
        """Return every value of this table as a table, by its key."""
        return {key: self.table(key) for key in self._values}

    def array(self, key: str) -> list["TomlTable"]:
        """Return the tables under a repeated header, at least one."""
        values = self._list(key, f"tables [[{key}]]")
        if not values or not all(isinstance(value, dict) for value in values):
            raise self._wrong(key, values, f"at least one table [[{key}]]")
        return [self._child(key, value, occurrence) for occurrence, value in enumerate(values)]

    def check_all_read(self) -> None:
        """Raise InputError on the first key that nothing here asked for."""
        for key in self._values:
            if key not in self._known:
                raise self.problem(key, f"not known here; expected one of {', '.join(sorted(self._known))}")
        for table in self._tables.values():
            table.check_all_read()

    def _child(self, key: str, values: dict[str, Any], occurrence: int = 0) -> "TomlTable":
        if (key, occurrence) not in self._tables:
            place = self._place_of(key)
            self._tables[key, occurrence] = TomlTable(self.file, self._lines, values, place, occurrence)
        return self._tables[key, occurrence]

    def _value(self, key: str, expected: str) -> Any:
        if key not in self:
            raise self.problem(key, f"missing; expected {expected}")
        return self._values[key]

    def _list(self, key: str, expected: str) -> list[Any]:
        value = self._value(key, expected)
        if not isinstance(value, list):
            raise self._wrong(key, value, expected)
        return value

    def _checked(self, key: str, value: Any, low: float | None, above: bool) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= _LARGEST:
            raise self._wrong(key, value, "a finite number")
        if low is not None and (value < low or (above and value == low)):
            raise self._wrong(key, value, f"a number {'above' if above else 'from'} {low:g}")
        return float(value)

    def _wrong(self, key: str, value: Any, expected: str) -> InputError:
        text = ascii(value)
        return self.problem(key, f"{text if len(text) <= 40 else text[:37] + '...'} found; expected {expected}")

    def _place_of(self, key: str) -> str:
        return f"{self.name}.{key}" if self.name else key

    def _line_of(self, key: str) -> int:
        """Return the line of a key or of a table by that name, else that of the header above; 0: not found."""
        entry = re.compile(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=")
        is_inside, headers_before, place = not self.name, 0, 0
        for number, line in enumerate(self._lines, 1):
            if header := _HEADER.fullmatch(line):
                if _unquoted(header[1]) == _unquoted(self._place_of(key)):
                    return number
                is_inside = _unquoted(header[1]) == _unquoted(self.name) and headers_before == self._occurrence
                headers_before += _unquoted(header[1]) == _unquoted(self.name)
                place = number if is_inside else place
            elif is_inside and entry.match(line):
                return number
        return place


def _unquoted(name: str) -> str:
    return re.sub(r"[\"'\s]", "", name)


def read_toml(path: str | os.PathLike[str]) -> TomlTable:
    """Return the root table of a file. Raises InputError where it cannot be read or is not TOML 1.0."""
    file = os.fspath(path)
    try:
        with open(file, "rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise InputError(f"cannot be read: {reason}; expected a TOML file", file=file) from error
    return parse_toml(data, file)


def parse_toml(data: bytes, file: str) -> TomlTable:
    """Return the root table in the bytes of a file, as `read_toml` does."""
    if len(data) > MAX_BYTES:
        raise InputError(f"more than {MAX_BYTES >> 20} MiB; expected a TOML file", file=file)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        place = error.start + len(data) - len(error.object)  # the decoder does not count a byte order mark
        message = f"byte 0x{data[place]:02X} found; expected text in UTF-8"
        raise InputError(message, file=file, line=data.count(b"\n", 0, place) + 1) from error
    try:
        return TomlTable(file, text.splitlines(), tomllib.loads(text))
    except (ValueError, RecursionError) as error:
        reason = "nested too deeply" if isinstance(error, RecursionError) else ascii(str(error)).strip("\"'")
        raise InputError(f"{reason}; expected TOML 1.0", file=file) from error
