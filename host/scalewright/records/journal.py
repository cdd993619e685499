"""The journal: entries are added at its end and stay as they are."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

from sqlalchemy import Connection, insert, select

from scalewright.errors import RecordError
from scalewright.records import chain
from scalewright.records.schema import journal, open_file, transaction

_ADD = insert(journal)
_LAST = select(journal.c.seq, journal.c.hash).order_by(journal.c.seq.desc()).limit(1)


class Head(NamedTuple):
    """The end of the chain: whoever keeps this hash can prove everything up to it."""

    seq: int
    hash: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the journal, as it is stored."""

    seq: int
    at: str
    """UTC, ISO 8601 with microseconds."""
    kind: str
    """What happened, such as "calibration.begun" or "observation"."""
    job: str
    """Groups the entries of one job."""
    body_json: str
    """Canonical JSON, the very text that is hashed."""
    previous: str
    """Hash of the entry before, in hexadecimal."""
    hash: str

    @property
    def body(self) -> dict[str, object]:
        """The body as it was given. Raises RecordError where a damaged file holds no JSON here."""
        try:
            body: dict[str, object] = json.loads(self.body_json)
        except (ValueError, TypeError) as error:
            raise RecordError(f"entry {self.seq} is damaged: {error}", "verify the records") from error
        return body


class Journal:
    """A records file, open. Leaving the `with` block closes it; a missing file is made unless `read_only`.

    Several processes may write at once; each append waits up to `timeout_s` for its turn and then gives up without
    having changed anything. Everything raises RecordError (with path, cause and remedy) where the file is locked,
    read-only, full, damaged, made by a newer Scalewright or by another program.
    """

    def __init__(self, path_or_url: str | Path, *, read_only: bool = False, timeout_s: float = 10.0) -> None:
        self._engine = open_file(path_or_url, read_only=read_only, timeout_s=timeout_s)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; everything is in it already."""
        self._engine.dispose()

    def append(self, kind: str, job: str, body: dict[str, object], at: datetime | None = None) -> Entry:
        """Add an entry and return it once it is on the disk. `at` is when it happened; now, if not given.

        Raises RecordError, with nothing written, also for a body that JSON would not give back as it is.
        """
        for name, text in (("kind", kind), ("job", job)):
            if not text.isprintable() or not text.strip():
                raise RecordError(f"{name}: {text!r} is not a line of text")
        content = (_utc(at or datetime.now(UTC)), kind, job, chain.canonical(body))
        with transaction(self._engine, "IMMEDIATE") as connection:
            last, previous = _head(connection)
            row = (last + 1, *content, previous, chain.digest(previous, last + 1, *content))
            connection.execute(_ADD, dict(zip(journal.c.keys(), row, strict=True)))
        return Entry(*row)

    def entries(self, job: str | None = None, kind: str | None = None) -> Iterator[Entry]:
        """Iterate over the entries in order, of one job or kind if given. They are as stored: `verify` judges them."""
        return (Entry(*row) for row in self._rows({"job": job, "kind": kind}))

    def head(self) -> Head:
        """Return number and hash of the last entry; of an empty journal 0 and 64 zeros."""
        with transaction(self._engine) as connection:
            return _head(connection)

    def verify(self, expected_head: str | None = None) -> chain.Verification:
        """Return whether the chain holds, and if not, the first entry that does not and why; see `chain.verify`."""
        return chain.verify(lambda: self._rows({}), expected_head)

    def _rows(self, wanted: dict[str, str | None]) -> Iterator[chain.Row]:
        query = select(journal).order_by(journal.c.seq)
        for name, value in wanted.items():
            if value is not None:
                query = query.where(journal.c[name] == value)
        with transaction(self._engine) as connection:
            yield from connection.execute(query)  # one by one, so that damage is met at the entry it is in


def _head(connection: Connection) -> Head:
    row = connection.execute(_LAST).first()
    return Head(*row) if row else Head(0, chain.GENESIS)


def _utc(at: datetime) -> str:
    if at.tzinfo is None:
        raise RecordError(f"at: {at} has no time zone", "give the time with its zone")
    return at.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"
