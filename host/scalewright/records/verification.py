"""Whether records hold: every entry as it was written, and found by its kind and its job."""

from bisect import bisect
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from operator import itemgetter
from typing import Any

from sqlalchemy import func, select

from scalewright.errors import DamageError
from scalewright.records import bulk_check, chain
from scalewright.records.schema import journal, run
from scalewright.records.store import Store

_ENTRIES = "SELECT entry, hash FROM journal ORDER BY seq"
_IN_ORDER = select(journal).order_by(journal.c.seq)
_RUNS = select(run).order_by(run.c.first)
_STREAM = {"stream_results": True}
_NUMBERS = select(
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
    with ThreadPoolExecutor(1) as beside:  # the database's own work, which leaves Python free
        complaint = beside.submit(_complaint, store)
        found = _in_bulk(store, expected_head, note)
    if found and not complaint.result():
        return found
    found = chain.verify(lambda: _rows(store), expected_head)
    return found if not found.holds else _misfiled(store, found, complaint.result())


def _complaint(store: Store) -> str:
    try:
        with store.transaction() as connection:
            return store.complaint(connection)
    except DamageError as error:
        return str(error)


def _in_bulk(store: Store, expected_head: str | None, note: Callable[[int], None] | None) -> chain.Verification | None:
    try:
        with (
            store.transaction() as connection,
            # Bare cursors: wrapping a row takes as long as hashing it.
            store.cursor(connection, _ENTRIES) as entries,
            store.cursor(connection, store.runs_as_bytes) as runs,
        ):
            numbers = tuple(connection.execute(_NUMBERS).one())
            fetch = entries.fetchmany if note is None else _noting(entries.fetchmany, note)
            found = bulk_check.verify(fetch, runs, expected_head)
    except (DamageError, TypeError):  # a damaged file can hold any type in any column
        return None
    return found if found and _are_all(numbers, found.entries) else None


def _are_all(numbers: tuple[int | None, ...], entries: int) -> bool:
    """Whether so many entries, in ascending order, are numbered from 1 without a gap, and runs are within them."""
    first_seq, last_seq, first_run, last_run = numbers
    if first_seq is None or last_run is None:
        return entries == 0 and set(numbers) == {None}
    return (first_seq, last_seq, first_run) == (1, entries, 1) and last_run <= entries


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
    detail = f"entry {seq} is filed under another kind or job" if seq else f"entries may not be found: {complaint}"
    return replace(found, seq=seq, reason="misfiled", detail=f"{detail}; a backup of these records is right again")


def _is_filed(row: chain.Row, runs: list[tuple[int, tuple[str, str]]]) -> bool:
    """Whether the run that a row falls into is of its kind and job."""
    place = bisect(runs, row[0], key=itemgetter(0))
    return place > 0 and runs[place - 1][1] == chain.filed_under(row[1])
