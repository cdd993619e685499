"""Records in one SQLite file: how it is opened and brought up to date, and what its errors mean.

With a write-ahead log and full synchronisation: what is committed stays, whether the program is killed or the power
fails. Triggers refuse every change but adding the next entry; the hash chain finds what gets round them.
"""

import os
import sqlite3
import time
from contextlib import AbstractContextManager, closing
from pathlib import Path
from typing import Any
from uuid import uuid4

from sqlalchemy import URL, Connection, QueuePool, create_engine, event, func

from scalewright.errors import DamageError, InputError, RecordError
from scalewright.records.schema import APPLICATION_ID, MIGRATIONS, Migrations
from scalewright.records.store import Store

_PAGE = 32_768  # bytes, of a file that is made: proving 100,000 entries takes a fifth less time than with 4096
_PAGES_OF_LOG = 250  # after which it is taken into the file

_CAUSES = {
    sqlite3.SQLITE_BUSY: ("another program is writing to it", "wait until it has finished or close it, then repeat"),
    sqlite3.SQLITE_READONLY: ("it may not be written", "get write permission for the file and its folder"),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened", "check that its folder exists and that you may write there"),
    sqlite3.SQLITE_FULL: ("the disk is full", "make room, then repeat; what was recorded before is safe"),
    sqlite3.SQLITE_IOERR: ("the disk could not be read or written", "check the disk; copy the file to another one"),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", "keep this file as it is and go back to the last good copy"),
    sqlite3.SQLITE_NOTADB: ("it is not a records file, or damaged", "check the name, or go back to the last good copy"),
}


class SQLiteFile(Store):
    """A records file; made where there is none unless `read_only`."""

    runs_as_bytes = "SELECT first, CAST(','||kind||','||job||',' AS BLOB) FROM run ORDER BY first"
    place_of = staticmethod(func.instr)

    def __init__(self, path: Path, *, read_only: bool, timeout_s: float, migrations: Migrations = MIGRATIONS) -> None:
        if read_only and not path.is_file():
            raise InputError("no such file", file=str(path), remedy="expected a records file")
        self.place = str(path)
        self._path, self._read_only, self._timeout_s = path, read_only, timeout_s
        self._copy: sqlite3.Connection | None = None
        url = URL.create("sqlite", database=self.place)
        self.engine = create_engine(url, creator=self._connect, poolclass=QueuePool)
        event.listen(self.engine, "begin", _begin)
        try:
            self.bring_up_to_date(migrations)
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        super().close()
        if self._copy is not None:
            self._copy.close()

    def bring_up_to_date(self, migrations: Migrations) -> None:
        """Take the file to the newest version, each step in a transaction of its own.

        Raises RecordError for a file that a newer Scalewright or another program made.
        """
        with self.transaction() as connection:
            version = self._version(connection, len(migrations))
        if 0 < version < len(migrations) and self._read_only:
            self._read_a_copy()
        while version < len(migrations):
            with self.transaction(writes=True) as connection:
                version = self._version(connection, len(migrations))  # another process may have been first
                if version < len(migrations):
                    migrations[version](connection)
                    version += 1
                    connection.exec_driver_sql(f"PRAGMA user_version = {version}")

    def record_error(self, error: BaseException) -> RecordError:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # the rest of the code only details the first byte
        if isinstance(error, UnicodeDecodeError):  # SQLite's complaint quotes damaged bytes, and Python cannot read it
            code = sqlite3.SQLITE_CORRUPT
        cause, remedy = _CAUSES.get(code, ("it does not do what was asked", ""))
        kind = DamageError if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_IOERR) else RecordError
        return kind(f"{self.place}: {cause}: {error}", remedy)

    def cursor(self, connection: Connection, statement: str) -> AbstractContextManager[sqlite3.Cursor]:
        driver: Any = connection.connection.driver_connection
        return closing(driver.execute(statement))

    def complaint(self, connection: Connection) -> str:
        for table in ("run", "journal"):
            found = str(connection.exec_driver_sql(f"PRAGMA integrity_check({table})").scalars().first())
            if found != "ok":
                return found
        return ""

    def _version(self, connection: Connection, newest: int) -> int:
        version, application, objects = (
            int(connection.exec_driver_sql(query).scalar_one())
            for query in ("PRAGMA user_version", "PRAGMA application_id", "SELECT count(*) FROM sqlite_schema")
        )
        if application != APPLICATION_ID and (objects or version):
            raise RecordError(f"{self.place}: it is a database of another program", "check the name")
        if version > newest:
            message = f"{self.place}: it has schema {version}, this Scalewright knows up to {newest}"
            raise RecordError(message, "use the newer Scalewright that wrote it")
        return version

    def _read_a_copy(self) -> None:
        """A file of an earlier version that is only read stays as it is: a copy in memory is brought up to date."""
        address = f"file:{uuid4().hex}?mode=memory&cache=shared"
        self._copy = sqlite3.connect(address, uri=True, isolation_level=None, check_same_thread=False)
        with closing(_open(self._path, True, self._timeout_s)) as original:
            original.backup(self._copy)
        self.engine.dispose()
        self._address = address

    def _connect(self) -> sqlite3.Connection:
        if self._copy is None:
            return _open(self._path, self._read_only, self._timeout_s)
        connection = sqlite3.connect(self._address, uri=True, isolation_level=None, check_same_thread=False)
        connection.text_factory = _text
        return connection


def _text(data: bytes) -> str:
    """Damaged text must reach the hash as it is, and must not end the reading."""
    return data.decode(errors="surrogateescape")


def _open(path: Path, read_only: bool, timeout_s: float) -> sqlite3.Connection:
    address = path.as_uri() + _mode(path, read_only)
    connection = sqlite3.connect(address, uri=True, timeout=timeout_s, isolation_level=None, check_same_thread=False)
    connection.text_factory = _text
    try:
        if read_only:
            connection.execute("PRAGMA query_only = ON")
        else:
            connection.execute(f"PRAGMA page_size = {_PAGE}")
            _keep_write_ahead_log(connection, timeout_s)
            connection.execute(f"PRAGMA wal_autocheckpoint = {_PAGES_OF_LOG}")
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
    connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.get_execution_options()["writes"] else "BEGIN")
