"""What is in the records: two tables, guards that refuse every change but adding the next entry, and how it came so.

journal   the entries. `entry` holds the very bytes that are hashed (see chain), so what is verified is what is read.
run       where which entries are: from entry `first` on they are of this kind and job, until the next run begins.
          Both as JSON strings, as they stand in the entries, so that they are quickly compared. It follows from the
          journal, is written in the same transaction, and is what makes reading one job quick.

Most entries go on with the job that the one before was of, so there are few runs and most appends touch one table only.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import islice

from sqlalchemy import Connection, column, insert, table

from scalewright.errors import RecordError
from scalewright.records import chain

journal = table("journal", *map(column, ("seq", "entry", "hash")))
run = table("run", *map(column, ("first", "kind", "job")))

_BATCH = 500  # rows at a time

APPLICATION_ID = 0x53577231  # "SWr1", in the header of a SQLite file: tells our files from other programs'

_CREATE_1 = (
    f"PRAGMA application_id = {APPLICATION_ID}",
    """
    CREATE TABLE journal (
        seq INTEGER PRIMARY KEY,  -- 1, 2, 3 ... without a gap
        at TEXT NOT NULL,         -- UTC, ISO 8601, microseconds, Z
        kind TEXT NOT NULL,       -- what happened, such as "observation"
        job TEXT NOT NULL,        -- groups the entries of one job
        body TEXT NOT NULL,       -- canonical JSON
        previous TEXT NOT NULL,   -- hash of the entry before, 64 hexadecimal digits
        hash TEXT NOT NULL        -- of this entry
    ) STRICT
    """,
    "CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal BEGIN SELECT raise(ABORT, 'append-only'); END",
    "CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal BEGIN SELECT raise(ABORT, 'append-only'); END",
    # INSERT OR REPLACE would delete without asking the trigger above.
    """
    CREATE TRIGGER journal_no_replace BEFORE INSERT ON journal WHEN EXISTS (SELECT 1 FROM journal WHERE seq >= new.seq)
    BEGIN SELECT raise(ABORT, 'append-only'); END
    """,
)
_TABLES_2 = (
    """
    CREATE TABLE journal (
        seq INTEGER PRIMARY KEY,  -- 1, 2, 3 ... without a gap
        entry BLOB NOT NULL,      -- hash of the entry before (32 bytes), then the text [seq,at,kind,job,body]
        hash BLOB NOT NULL        -- SHA-256 of entry
    ) STRICT
    """,
    "CREATE TABLE run (first INTEGER PRIMARY KEY, kind TEXT NOT NULL, job TEXT NOT NULL) STRICT",
    "CREATE INDEX run_job ON run (job, kind)",
    "CREATE INDEX run_kind ON run (kind)",
    "CREATE INDEX run_kind_job ON run (kind, job)",  # all jobs of a scale that ended, say, by how their names begin
)


def _guards(name: str, number: str) -> tuple[str, ...]:
    return (
        f"CREATE TRIGGER {name}_no_update BEFORE UPDATE ON {name} BEGIN SELECT raise(ABORT, 'append-only'); END",
        f"CREATE TRIGGER {name}_no_delete BEFORE DELETE ON {name} BEGIN SELECT raise(ABORT, 'append-only'); END",
        f"CREATE TRIGGER {name}_no_replace BEFORE INSERT ON {name}"
        f" WHEN EXISTS (SELECT 1 FROM {name} WHERE {number} >= new.{number})"
        " BEGIN SELECT raise(ABORT, 'append-only'); END",
    )


_GUARDS_2 = (*_guards("journal", "seq"), *_guards("run", "first"))

POSTGRESQL = (
    """
    CREATE TABLE journal (
        seq BIGINT PRIMARY KEY,
        entry BYTEA NOT NULL,
        hash BYTEA NOT NULL
    )
    """,
    'CREATE TABLE run (first BIGINT PRIMARY KEY, kind TEXT COLLATE "C" NOT NULL, job TEXT COLLATE "C" NOT NULL)',
    "CREATE INDEX run_job ON run (job, kind, first)",
    "CREATE INDEX run_kind ON run (kind, first)",
    """
    CREATE FUNCTION append_only() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION 'append-only' USING ERRCODE = 'restrict_violation'; END $$
    """,
    *(
        f"CREATE TRIGGER {name}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {name}"
        " EXECUTE FUNCTION append_only()"
        for name in ("journal", "run")
    ),
    """
    -- By the index even if this was planned while the table was empty.
    CREATE FUNCTION only_at_the_end() RETURNS trigger LANGUAGE plpgsql SET enable_seqscan = off AS $$ BEGIN
        IF EXISTS (SELECT 1 FROM journal WHERE seq >= NEW.seq) THEN
            RAISE EXCEPTION 'append-only' USING ERRCODE = 'restrict_violation';
        END IF;
        RETURN NEW;
    END $$
    """,
    "CREATE TRIGGER journal_only_at_the_end BEFORE INSERT ON journal FOR EACH ROW EXECUTE FUNCTION only_at_the_end()",
)
"""The same two tables on a server: schema 2, the first that was there."""


def add(connection: Connection, rows: Iterable[chain.Row], last: tuple[str, str] | None) -> int:
    """Add rows at the end of the journal, whose last entry is filed under `last`, and return how many."""
    rows, number = iter(rows), 0
    while batch := list(islice(rows, _BATCH)):
        runs = []
        for seq, entry, _ in batch:
            filed = chain.filed_under(entry)
            if filed != last:
                runs.append({"first": seq, "kind": filed[0], "job": filed[1]})
                last = filed
        connection.execute(insert(journal), [dict(zip(journal.c.keys(), row, strict=True)) for row in batch])
        if runs:
            connection.execute(insert(run), runs)
        number += len(batch)
    return number


def _create(connection: Connection) -> None:
    _execute(connection, _CREATE_1)


def _keep_what_is_hashed(connection: Connection) -> None:
    """Version 1 kept the parts of an entry, and had to put them together to hash them. The hashes stay."""
    verification = chain.verify(lambda: _rows_of_version_1(connection))
    if not verification.holds:
        raise RecordError(
            f"an earlier version wrote these records, and {verification}",
            "keep the file as it is and go back to the last good copy",
        )
    connection.exec_driver_sql("ALTER TABLE journal RENAME TO journal_1")
    _execute(connection, (f"DROP TRIGGER journal_no_{change}" for change in ("update", "delete", "replace")))
    _execute(connection, _TABLES_2)
    add(connection, _rows_of_version_1(connection, "journal_1"), None)
    connection.exec_driver_sql("DROP TABLE journal_1")
    _execute(connection, _GUARDS_2)


def _rows_of_version_1(connection: Connection, name: str = "journal") -> Iterator[chain.Row]:
    for seq, *parts, previous, stored_hash in connection.exec_driver_sql(f"SELECT * FROM {name} ORDER BY seq"):
        try:
            yield *chain.link(_bytes(previous), seq, chain.Content(*parts))[:2], _bytes(stored_hash)
        except (TypeError, ValueError):  # damaged
            yield seq, b"", b""


def _bytes(digits: str) -> bytes:
    data = bytes.fromhex(digits)
    if data.hex() != digits:
        raise ValueError(f"{digits} is not how a hash is written")
    return data


def _execute(connection: Connection, statements: Iterable[str]) -> None:
    for statement in statements:
        connection.exec_driver_sql(statement)


Migrations = Mapping[int, Callable[[Connection], None]]
MIGRATIONS: Migrations = {0: _create, 1: _keep_what_is_hashed}
"""From which version: the function that takes a file to the next one. Files in use went through these: only add."""

VERSION = len(MIGRATIONS)
