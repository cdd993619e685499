"""The journal: entries are added at its end and stay as they are."""

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple, Self

from sqlalchemy import Connection, Select, select

from scalewright.errors import RecordError
from scalewright.records import chain, queries, verification
from scalewright.records.schema import add, journal
from scalewright.records.store import open_store


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

    @classmethod
    def of(cls, row: chain.Row) -> "Entry":
        """Return the entry of a row as it is stored, damaged or not."""
        seq, hashed, stored_hash = row[0], _bytes(row[1]), _bytes(row[2])
        return cls(seq, *chain.content(hashed), hashed[:32].hex(), stored_hash.hex())

    @property
    def body(self) -> dict[str, object]:
        """The body as it was given. Raises RecordError where a damaged file holds no JSON here."""
        try:
            body: dict[str, object] = json.loads(self.body_json)
        except (ValueError, TypeError) as error:
            raise RecordError(f"entry {self.seq} is damaged: {error}", "verify the records") from error
        return body


class Addition(NamedTuple):
    """An entry to be."""

    kind: str
    job: str
    body: dict[str, object]
    at: datetime | None = None
    """when it happened; now, if None"""


class Journal:
    """Records, open: a file, or a database on a PostgreSQL server. Leaving the `with` block closes them.

    Missing ones are made unless `read_only`. Several processes may write at once; each append waits up to `timeout_s`
    for its turn and then gives up without having changed anything. Everything raises RecordError (with place, cause and
    remedy) where the store is locked, read-only, full, damaged, made by a newer Scalewright or by another program.

    Where a kind is asked for, one that ends with a dot means every kind that begins so: "register." is all registers.
    Likewise a job that ends with a colon: "PLOVER-3:" is all jobs of that scale.
    """

    def __init__(self, path_or_url: str | Path, *, read_only: bool = False, timeout_s: float = 10.0) -> None:
        self.store = open_store(path_or_url, read_only=read_only, timeout_s=timeout_s)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; everything is in it already."""
        self.store.close()

    def append(self, kind: str, job: str, body: dict[str, object], at: datetime | None = None) -> Entry:
        """Add an entry and return it once it is on the disk. `at` is when it happened; now, if not given.

        Raises RecordError, with nothing written, also for a body that JSON would not give back as it is.
        """
        return self.append_all([Addition(kind, job, body, at)])[0]

    def append_all(self, additions: Iterable[Addition]) -> list[Entry]:
        """Add several entries, or none of them where one cannot be added."""
        contents = [_content(addition) for addition in additions]
        with self.store.transaction(writes=True) as connection:
            seq, last, filed = _end(connection)
            rows = []
            for content in contents:
                rows.append(chain.link(last, seq + 1, content))
                seq, _, last = rows[-1]
            add(connection, rows, filed)
        return [Entry.of(row) for row in rows]

    def take_over(self, rows: Iterable[chain.Row], after: int) -> int:
        """Add entries of the same chain as they are stored elsewhere, and return how many.

        Raises RecordError, with nothing added, where the last entry is not number `after` any more.
        """
        with self.store.transaction(writes=True) as connection:
            seq, _, filed = _end(connection)
            if seq != after:
                raise RecordError(f"{self.store.place}: somebody else has just added to it", "repeat")
            return add(connection, rows, filed)

    def entries(self, job: str | None = None, kind: str | None = None, mentions: str | None = None) -> Iterator[Entry]:
        """Iterate over the entries in order, of one job or kind if given. They are as stored: `verify` judges them.

        mentions: only entries with this text as a value somewhere in their body; quicker than looking at each.
        """
        query = queries.found(job, kind)
        if mentions is not None:
            query = query.where(queries.mentions(self.store.place_of, mentions))
        return self._read(query)

    def latest(self, kind: str) -> Iterator[Entry]:
        """Iterate over the newest entry of each job under one kind: of each scale, where jobs are named by scale."""
        return self._read(queries.latest(kind))

    def newest(
        self, n: int, *, kind: str | None = None, job: str | None = None, before: int | None = None
    ) -> list[Entry]:
        """Return the newest `n` entries, the newest first: of one kind or job, numbered below `before`, if given."""
        return list(self._read(queries.newest(n, job, kind, before)))

    def jobs(self, kind: str | None = None) -> list[str]:
        """Return the names of all jobs, the oldest first: of those with an entry of one kind, if given."""
        with self.store.transaction() as connection:
            return [chain.unquoted(job) for job in connection.execute(queries.jobs(kind)).scalars()]

    def count(self, job: str | None = None, kind: str | None = None) -> int:
        """Return how many entries there are, of one job or kind if given."""
        with self.store.transaction() as connection:
            return int(connection.execute(queries.count(job, kind)).scalar_one())

    def head(self) -> Head:
        """Return number and hash of the last entry; of an empty journal 0 and 64 zeros."""
        with self.store.transaction() as connection:
            row = connection.execute(queries.LAST).first()
        return Head(row.seq, row.hash.hex()) if row else Head(0, chain.GENESIS)

    def verify(
        self, expected_head: str | None = None, note: Callable[[int], None] | None = None
    ) -> chain.Verification:
        """Return whether the chain holds, and if not, the first entry that does not and why; see `chain.verify`.

        Also proves that every entry is found by its kind and its job. note: told now and then how many entries were
        looked at; what it raises ends the work.
        """
        return verification.verify(self.store, expected_head, note)

    def rows(self, after: int = 0) -> Iterator[chain.Row]:
        """Iterate over the entries as they are stored, those numbered above `after`."""
        return self._rows(select(journal).where(journal.c.seq > after).order_by(journal.c.seq))

    def _read(self, query: "Select[Any]") -> Iterator[Entry]:
        return (Entry.of(row) for row in self._rows(query))

    def _rows(self, query: "Select[Any]") -> Iterator[chain.Row]:
        streamed = {"stream_results": True}
        with self.store.transaction() as connection, connection.execute(query, execution_options=streamed) as rows:
            yield from rows  # one by one, so that damage is met at the entry it is in


def _bytes(stored: object) -> bytes:
    """Return what a damaged file holds in place of bytes as bytes, to be shown."""
    return stored if isinstance(stored, bytes) else str(stored).encode(errors="surrogateescape")


def _end(connection: Connection) -> tuple[int, bytes, tuple[str, str] | None]:
    """Return number, hash, and kind and job as they are filed, of the last entry."""
    row = connection.execute(queries.LAST).first()
    return (row.seq, row.hash, chain.filed_under(row.entry)) if row else (0, bytes(32), None)


def _content(addition: Addition) -> chain.Content:
    kind, job, body, at = addition
    for name, text in (("kind", kind), ("job", job)):
        if not text.isprintable() or not text.strip():
            raise RecordError(f"{name}: {text!r} is not a line of text")
    if kind.endswith("."):
        raise RecordError(f"kind: {kind!r} ends with a dot", "that stands for all kinds that begin so")
    if job.endswith(":"):
        raise RecordError(f"job: {job!r} ends with a colon", "that stands for all jobs that begin so")
    return chain.Content(_utc(at or datetime.now(UTC)), kind, job, chain.canonical(body))


def _utc(at: datetime) -> str:
    if at.tzinfo is None:
        raise RecordError(f"at: {at} has no time zone", "give the time with its zone")
    return at.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"
