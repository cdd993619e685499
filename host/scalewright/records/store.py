"""Where records are kept, a SQLite file or a PostgreSQL database, as the journal sees it."""

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, ColumnElement, Connection, Engine, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from scalewright.errors import RecordError

_EXPECTED = "expected a file name, sqlite:///FILE or postgresql+psycopg://USER@HOST/DATABASE"


class Store(ABC):
    """A database that is open: its transactions, and what its errors mean."""

    engine: Engine
    place: str
    """what errors call it"""
    runs_as_bytes: str
    """SQL for the runs in order: first, and kind and job as bytes with a comma before, between and after them"""
    place_of: Callable[..., ColumnElement[int]]
    """the SQL function that says where in bytes other bytes begin, from 1; 0 where they do not occur"""

    @contextmanager
    def transaction(self, *, writes: bool = False) -> Iterator[Connection]:
        """Give a connection inside one transaction: committed at the end, rolled back on an exception.

        What is read within it is of one moment. One that `writes` waits for its turn and is then the only one.
        Database errors come out as RecordError with place, cause and remedy.
        """
        try:
            with self.engine.connect().execution_options(writes=writes) as connection, connection.begin():
                yield connection
        except DBAPIError as error:
            raise self.record_error(error.orig or error) from error
        except (self.engine.dialect.loaded_dbapi.Error, UnicodeDecodeError) as error:  # from a bare cursor
            raise self.record_error(error) from error

    @abstractmethod
    def record_error(self, error: BaseException) -> RecordError:
        """Return what to tell the user of an error of the database."""

    @abstractmethod
    def cursor(self, connection: Connection, statement: str) -> AbstractContextManager[Any]:
        """Return a cursor of the driver itself, which gives the rows of a statement as they are read."""

    @abstractmethod
    def complaint(self, connection: Connection) -> str:
        """Return what is wrong with how rows are found, by their number or by an index; empty where nothing is."""

    def close(self) -> None:
        """Let go of it; everything is in it already."""
        self.engine.dispose()


def open_store(path_or_url: str | Path, *, read_only: bool, timeout_s: float) -> Store:
    """Return the records at a file name or address, brought up to date; made where there are none unless `read_only`.

    Waits up to `timeout_s` for another writer. Raises RecordError, and InputError where there is nothing to read.
    """
    place = where(path_or_url)
    if isinstance(place, Path):
        from scalewright.records.sqlite_file import SQLiteFile

        return SQLiteFile(place, read_only=read_only, timeout_s=timeout_s)
    from scalewright.records.postgresql import PostgreSQL

    return PostgreSQL(place, read_only=read_only, timeout_s=timeout_s)


def where(path_or_url: str | Path) -> Path | URL:
    """Return the file, or the address of the database, that is meant. Raises RecordError for what is neither."""
    address = str(path_or_url)
    if "://" not in address:
        return Path(path_or_url).absolute()
    try:
        url = make_url(address)
    except ArgumentError as error:
        raise RecordError(f"{address}: not a database address", _EXPECTED) from error
    if url.get_backend_name() == "sqlite" and url.database:
        return Path(url.database).absolute()
    if url.drivername != "postgresql+psycopg":
        shown = url.render_as_string(hide_password=True)
        raise RecordError(f"{shown}: records are kept in SQLite files or in PostgreSQL", _EXPECTED)
    return url
