"""Records on a PostgreSQL server, for several benches at once: how they are reached, and what its errors mean.

One chain in each schema; the address says which, by options=-csearch_path%3DNAME. A writer takes the chain's advisory
lock for as long as its transaction lasts, so that each entry links to the one before it.
"""

from collections.abc import Mapping
from contextlib import AbstractContextManager
from itertools import count
from typing import Any

from sqlalchemy import URL, Connection, create_engine, event, func
from sqlalchemy.exc import NoSuchModuleError

from scalewright.errors import DamageError, InputError, RecordError
from scalewright.records.schema import POSTGRESQL, VERSION
from scalewright.records.store import Store

_MARK = "Scalewright records, schema "
_LOCK = "SELECT pg_advisory_xact_lock(hashtextextended(current_schema(), 1398240817))"  # "SWr1", as in a file

# By SQLSTATE, or its first two characters: PostgreSQL 15 documentation, appendix A.
_CAUSES = {
    "08": ("the server cannot be reached", "check address, network and server; what was recorded before is safe"),
    "25006": ("it may not be written", "open it for writing"),
    "28": ("the server does not let this user in", "check the user's name and password"),
    "3D000": ("there is no such database", "check the name, or have it made"),
    "3F000": ("there is no such schema", "check search_path in the address, or have it made"),
    "42501": ("this user may not do that", "have the right granted"),
    "53": ("the server has no room left", "make room, then repeat; what was recorded before is safe"),
    "55P03": ("another program is writing to it", "wait until it has finished or close it, then repeat"),
    "57": ("the server ended the connection", "repeat when it is back; what was recorded before is safe"),
    "58": ("the server could not read or write its disk", "check the disk of the server"),
    "XX": ("it is damaged", "have the server's administrator look at it, and go back to the last good backup"),
}
_DAMAGED = ("58", "XX")

_SETTINGS = {
    "client_encoding": "UTF8",
    "default_transaction_isolation": "repeatable\\ read",
    # Few rows are read, each by an index; what the server expects of tables that grew since it looked is no guide.
    "enable_seqscan": "off",
    "enable_bitmapscan": "off",
    "enable_material": "off",
    "jit": "off",
    "cursor_tuple_fraction": 1,  # all rows are read, although one by one
}

_INDEXES = {"seq": "journal", "first": "run", "job, kind, first": "run", "kind, first": "run"}

_NOTHING = object()

_numbers = count()  # cursors on a server have names


class PostgreSQL(Store):
    """Records in a schema of a database; made where there are none unless `read_only`."""

    runs_as_bytes = "SELECT first, convert_to(','||kind||','||job||',', 'UTF8') FROM run ORDER BY first"
    place_of = staticmethod(func.pg_catalog.position)

    def __init__(self, url: URL, *, read_only: bool, timeout_s: float) -> None:
        self.place = url.set(query={}).render_as_string(hide_password=True)
        self._read_only = read_only
        wait_ms = max(1, round(timeout_s * 1000))  # 0 would be to wait for ever
        settings = {**_SETTINGS, "lock_timeout": wait_ms}
        try:
            connect = {"connect_timeout": max(2, round(timeout_s))}
            self.engine = create_engine(_with(url, settings), connect_args=connect)
        except (ImportError, NoSuchModuleError) as error:
            remedy = "pip install 'scalewright[postgres]'"
            raise RecordError(f"{self.place}: psycopg, which talks to the server, is not installed", remedy) from error
        event.listen(self.engine, "begin", self._begin)
        try:
            self._bring_up_to_date()
        except BaseException:
            self.close()
            raise

    def record_error(self, error: BaseException) -> RecordError:
        state = getattr(error, "sqlstate", None) or "08"  # psycopg has none where it reached no server
        cause, remedy = _CAUSES.get(state) or _CAUSES.get(state[:2]) or ("it does not do what was asked", "")
        kind = DamageError if state[:2] in _DAMAGED else RecordError
        return kind(f"{self.place}: {cause}: {' '.join(str(error).split())}", remedy)

    def cursor(self, connection: Connection, statement: str) -> AbstractContextManager[Any]:
        driver: Any = connection.connection.driver_connection
        cursor: AbstractContextManager[Any] = driver.cursor(f"bare_{next(_numbers)}").execute(statement)
        return cursor

    def complaint(self, connection: Connection) -> str:
        """Read numbers and runs by each index and without any, and compare."""
        for order, table in _INDEXES.items():
            listings = [_listing(connection, order, table, by_index=by_index) for by_index in (True, False)]
            if listings[0] != listings[1]:
                return f"what is read of {table} by {order} differs from the table"
        return ""

    def _begin(self, connection: Connection) -> None:
        if self._read_only:
            connection.exec_driver_sql("SET TRANSACTION READ ONLY")
        if connection.get_execution_options().get("writes"):
            # Each statement is to see what was committed while this waited for its turn.
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL READ COMMITTED")
            connection.exec_driver_sql(_LOCK)

    def _bring_up_to_date(self) -> None:
        with self.transaction() as connection:
            version = self._version(connection)
        if version == 0 and self._read_only:
            raise InputError("there are no records", file=self.place, remedy="expected a database with records")
        if version == 0:
            with self.transaction(writes=True) as connection:
                if self._version(connection) == 0:  # another process may have been first
                    for statement in POSTGRESQL:
                        connection.exec_driver_sql(statement)
                    connection.exec_driver_sql(f"COMMENT ON TABLE journal IS '{_MARK}{VERSION}'")

    def _version(self, connection: Connection) -> int:
        # Not to_regclass: it may remember that there was none before this waited for its turn.
        marks = connection.exec_driver_sql(
            "SELECT obj_description(c.oid, 'pg_class') FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace"
            " WHERE c.relname = 'journal' AND n.nspname = current_schema()"
        ).scalars()
        mark = next(iter(marks), _NOTHING)
        if mark is _NOTHING:
            return 0
        if not str(mark).startswith(_MARK):
            raise RecordError(f"{self.place}: its table journal is of another program", "check the address")
        version = int(str(mark).removeprefix(_MARK))
        if version > VERSION:
            message = f"{self.place}: it has schema {version}, this Scalewright knows up to {VERSION}"
            raise RecordError(message, "use the newer Scalewright that wrote it")
        return version


def _listing(connection: Connection, order: str, table: str, *, by_index: bool) -> tuple[int, str]:
    """Return number and MD5 of the rows of a table in order, read by the index of that order or without one."""
    for way in ("seqscan", "sort", "bitmapscan"):
        connection.exec_driver_sql(f"SET LOCAL enable_{way} = {not by_index}")
    for way in ("indexscan", "indexonlyscan"):
        connection.exec_driver_sql(f"SET LOCAL enable_{way} = {by_index}")
    ordered = f"SELECT concat_ws(',', {order}) AS one FROM {table} ORDER BY {order}"
    query = f"SELECT count(*), md5(string_agg(one, ',')) FROM ({ordered}) AS ordered"
    number, checksum = connection.exec_driver_sql(query).one()
    return number, checksum


def _with(url: URL, settings: Mapping[str, object]) -> URL:
    """Return the address with settings of the connection beside those that are in it."""
    given: Any = url.query.get("options", "")
    ours = " ".join(f"-c{name}={value}" for name, value in settings.items())
    return url.update_query_dict({"options": f"{given} {ours}".strip()})
