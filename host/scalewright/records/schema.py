"""The records file: what is in it, how it is opened, and what its errors mean.

SQLite with a write-ahead log and full synchronisation: what is committed stays, whether the program is killed or the
power fails. Triggers refuse every change but adding the next entry; the hash chain finds what gets round them.
"""

import os
import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, QueuePool, column, create_engine, event, make_url, table
from sqlalchemy.exc import ArgumentError, DBAPIError

from scalewright.errors import DamageError, InputError, RecordError

journal = table("journal", *map(column, ("seq", "at", "kind", "job", "body", "previous", "hash")))

_APPLICATION_ID = 0x53577231  # "SWr1", in the file's header: tells our files from other programs'
_CREATE_JOURNAL = (
    f"PRAGMA application_id = {_APPLICATION_ID}",
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
    # No index: the table is then the only place where an entry is, so what is verified is what is read.
    "CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal BEGIN SELECT raise(ABORT, 'append-only'); END",
    "CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal BEGIN SELECT raise(ABORT, 'append-only'); END",
    # INSERT OR REPLACE would delete without asking the trigger above.
    """
    CREATE TRIGGER journal_no_replace BEFORE INSERT ON journal WHEN EXISTS (SELECT 1 FROM journal WHERE seq >= new.seq)
    BEGIN SELECT raise(ABORT, 'append-only'); END
    """,
)


def _create_journal(connection: Connection) -> None:
    for statement in _CREATE_JOURNAL:
        connection.exec_driver_sql(statement)


Migrations = Mapping[int, Callable[[Connection], None]]
MIGRATIONS: Migrations = {0: _create_journal}
"""From which version: the function that takes the file to the next one. Files in use went through these: only add."""

_CAUSES = {
    sqlite3.SQLITE_BUSY: ("another program is writing to it", "wait until it has finished or close it, then repeat"),
    sqlite3.SQLITE_READONLY: ("it may not be written", "get write permission for the file and its folder"),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened", "check that its folder exists and that you may write there"),
    sqlite3.SQLITE_FULL: ("the disk is full", "make room, then repeat; what was recorded before is safe"),
    sqlite3.SQLITE_IOERR: ("the disk could not be read or written", "check the disk; copy the file to another one"),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", "keep this file as it is and go back to the last good copy"),
    sqlite3.SQLITE_NOTADB: ("it is not a records file, or damaged", "check the name, or go back to the last good copy"),
}


def open_file(path_or_url: str | Path, *, read_only: bool, timeout_s: float) -> Engine:
    """Return an engine on the records file, brought up to date; a missing file is made unless `read_only`.

    Waits up to `timeout_s` for another writer. Raises RecordError, and InputError where there is no file to read.
    """
    path = _path(path_or_url)
    if read_only and not path.is_file():
        raise InputError("no such file", file=str(path), remedy="expected a records file")
    engine = create_engine(
        URL.create("sqlite", database=str(path)),
        creator=lambda: _connect(path, read_only, timeout_s),
        poolclass=QueuePool,
    )
    event.listen(engine, "begin", _begin)
    try:
        bring_up_to_date(engine, MIGRATIONS)
    except BaseException:
        engine.dispose()
        raise
    return engine


@contextmanager
def transaction(engine: Engine, mode: str = "DEFERRED") -> Iterator[Connection]:
    """Give a connection inside one transaction: committed at the end, rolled back on an exception.

    "IMMEDIATE" takes the write lock at once. Database errors come out as RecordError with path, cause and remedy.
    """
    try:
        with engine.connect().execution_options(sqlite_begin=mode) as connection, connection.begin():
            yield connection
    except DBAPIError as error:
        code = getattr(error.orig, "sqlite_errorcode", 0) & 0xFF  # the rest of the code only details the first byte
        raise _record_error(engine, code, str(error.orig)) from error
    except UnicodeDecodeError as error:  # SQLite's complaint quotes the damaged bytes, and Python cannot read it
        raise _record_error(engine, sqlite3.SQLITE_CORRUPT, str(error)) from error


def bring_up_to_date(engine: Engine, migrations: Migrations) -> None:
    """Take the file to the newest version, each step in a transaction of its own.

    Raises RecordError for a file that a newer Scalewright or another program made.
    """
    with transaction(engine) as connection:
        version = _version(connection, engine, len(migrations))
    while version < len(migrations):
        with transaction(engine, "IMMEDIATE") as connection:
            version = _version(connection, engine, len(migrations))  # another process may have been first
            if version < len(migrations):
                migrations[version](connection)
                version += 1
                connection.exec_driver_sql(f"PRAGMA user_version = {version}")


def _record_error(engine: Engine, code: int, complaint: str) -> RecordError:
    cause, remedy = _CAUSES.get(code, ("it does not do what was asked", ""))
    error = DamageError if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_IOERR) else RecordError
    return error(f"{engine.url.database}: {cause}: {complaint}", remedy)


def _version(connection: Connection, engine: Engine, newest: int) -> int:
    version, application, objects = (
        int(connection.exec_driver_sql(query).scalar_one())
        for query in ("PRAGMA user_version", "PRAGMA application_id", "SELECT count(*) FROM sqlite_schema")
    )
    path = engine.url.database
    if application != _APPLICATION_ID and (objects or version):
        raise RecordError(f"{path}: it is a database of another program", "check the name")
    if version > newest:
        message = f"{path}: it has schema {version}, this Scalewright knows up to {newest}"
        raise RecordError(message, "use the newer Scalewright that wrote it")
    return version


def _path(path_or_url: str | Path) -> Path:
    if "://" not in str(path_or_url):
        return Path(path_or_url).absolute()
    try:
        url = make_url(str(path_or_url))
    except ArgumentError as error:
        raise RecordError(f"{path_or_url}: not a database address", "expected a file name or sqlite:///FILE") from error
    if url.get_backend_name() != "sqlite" or not url.database:
        raise RecordError(f"{url}: records are kept in SQLite files", "expected a file name or sqlite:///FILE")
    return Path(url.database).absolute()


def _connect(path: Path, read_only: bool, timeout_s: float) -> sqlite3.Connection:
    address = path.as_uri() + _mode(path, read_only)
    connection = sqlite3.connect(address, uri=True, timeout=timeout_s, isolation_level=None, check_same_thread=False)
    # Damaged text must reach the hash as it is, and must not end the reading.
    connection.text_factory = lambda data: data.decode(errors="surrogateescape")
    try:
        if read_only:
            connection.execute("PRAGMA query_only = ON")
        else:
            _keep_write_ahead_log(connection, timeout_s)
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA fullfsync = ON")  # macOS: through the disk's own cache too
        connection.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        connection.close()
        raise
    return connection


def _mode(path: Path, read_only: bool) -> str:
    if not read_only:
        return "?mode=rwc"
    if os.access(path, os.W_OK) and os.access(path.parent, os.W_OK):
        return "?mode=rw"  # so that SQLite can clear away its log after reading
    # With no log and no right to make one (an archive, a read-only disk), SQLite must be told that nobody writes.
    return "?mode=ro" if path.with_name(path.name + "-wal").exists() else "?mode=ro&immutable=1"


def _keep_write_ahead_log(connection: sqlite3.Connection, timeout_s: float) -> None:
    """Wait here: SQLite waits for its turn everywhere but in this statement, and two processes may make the file."""
    give_up = time.monotonic() + timeout_s
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > give_up:
                raise
        time.sleep(0.01)


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(f"BEGIN {connection.get_execution_options()['sqlite_begin']}")
