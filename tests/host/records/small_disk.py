"""A disk with room for a few pages of a database."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager

from sqlalchemy import Pool, event


@contextmanager
def on_every_connection(act: Callable[[sqlite3.Connection], object]) -> Iterator[None]:
    def connected(connection: sqlite3.Connection, _record: object) -> None:
        act(connection)

    event.listen(Pool, "connect", connected)
    try:
        yield
    finally:
        event.remove(Pool, "connect", connected)


def at_most(pages: int) -> AbstractContextManager[None]:
    """A disk that has room for so many pages of a database."""
    return on_every_connection(lambda connection: connection.execute(f"PRAGMA max_page_count = {pages}"))
