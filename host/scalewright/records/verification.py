"""Whether records hold: every entry as it was written, and found by its kind and its job."""

from bisect import bisect
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, func, select

from scalewright.errors import DamageError
from scalewright.records import bulk_check, chain
from scalewright.records.schema import journal, run
from scalewright.records.store import Store

_ENTRIES = "SELECT entry, hash FROM journal ORDER BY seq"
_IN_ORDER = select(journal).order_by(journal.c.seq)
_RUNS = select(run).order_by(run.c.first)
_STREAM = {"stream_results": True}
_ENDS = select(
    *(
        select(least_or_most(number)).scalar_subquery()
        for number in (journal.c.seq, run.c.first)
        for least_or_most in (func.min, func.max)
    )
)


def verify(store: Store, expected_head: str | None, note: Callable[[int], None] | None = None) -> chain.Verification:
    """Return whether the chain holds, and if not, the first entry that does not and why; see `chain.verify`.

    note: told now and then how many entries were looked at; what it raises ends the work.
    """
    try:
        with store.transaction() as connection:
            found = _in_bulk(store, connection, expected_head, note)
            complaint = store.complaint_about_indexes(connection) if found else ""
        if found and not complaint:
            return found
    except DamageError as error:
        complaint = str(error)
    found = chain.verify(lambda: _rows(store), expected_head)
    return found if not found.holds else _misfiled(store, found, complaint)


def _in_bulk(
    store: Store, connection: Connection, expected_head: str | None, note: Callable[[int], None] | None
) -> chain.Verification | None:
    ends = tuple(connection.execute(_ENDS).one())
    # By bare cursors: wrapping a row takes as long as hashing it.
    with store.cursor(connection, _ENTRIES) as entries, store.cursor(connection, store.runs_as_bytes) as runs:
        try:
            fetch = entries.fetchmany if note is None else _noting(entries.fetchmany, note)
            found = bulk_check.verify(fetch, runs, expected_head)
        except TypeError:  # a damaged file can hold any type in any column
            return None
    if found is None:
        return None
    first_seq, last_seq, first_run, last_run = ends
    is_numbered = (first_seq, last_seq, first_run) == (1, found.entries, 1) and last_run <= found.entries
    return found if is_numbered or (found.entries == 0 and set(ends) == {None}) else None


def _noting(fetch: Callable[[int], Sequence[Any]], note: Callable[[int], None]) -> Callable[[int], Sequence[Any]]:
    fetched = 0

    def fetch_and_note(most: int) -> Sequence[Any]:
        nonlocal fetched
        rows = fetch(most)
        fetched += len(rows)
        note(fetched)
        return rows

    return fetch_and_note


def _rows(store: Store) -> Iterator[chain.Row]:
    with store.transaction() as connection, connection.execute(_IN_ORDER, execution_options=_STREAM) as rows:
        yield from rows


def _misfiled(store: Store, found: chain.Verification, complaint: str) -> chain.Verification:
    """Return the same with the first entry that is not where reading looks for it."""
    seq = None
    try:
        with store.transaction() as connection:
            runs = [(first, (kind, job)) for first, kind, job in connection.execute(_RUNS)]
        seq = next((row[0] for row in _rows(store) if not _is_filed(row, runs)), None)
    except DamageError as error:
        complaint = complaint or str(error)
    what = f"entry {seq} is" if seq else "entries are"
    detail = f"{what} filed under another kind or job than written with" + (f": {complaint}" if complaint else "")
    return replace(found, seq=seq, reason="misfiled", detail=f"{detail}; a backup of these records is right again")


def _is_filed(row: chain.Row, runs: list[tuple[int, tuple[str, str]]]) -> bool:
    """Whether the run that a row falls into is of its kind and job."""
    place = bisect(runs, row[0], key=itemgetter(0))
    return place > 0 and runs[place - 1][1] == chain.filed_under(row[1])
