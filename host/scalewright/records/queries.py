"""What is asked of the records, as SQL that both stores understand."""

from collections.abc import Callable
from typing import Any

from sqlalchemy import ColumnElement, FromClause, ScalarSelect, Select, and_, func, literal, select

from scalewright.records import chain
from scalewright.records.schema import journal, run

LAST = select(journal).order_by(journal.c.seq.desc()).limit(1)

_NO_END = 2**62
_SORTED = journal.c.seq + 0  # not by the journal's own order, or PostgreSQL goes through all of it and asks for runs


def found(job: str | None, kind: str | None) -> Select[Any]:
    """Return the query for entries in order, of one job and kind if given."""
    if job is None and kind is None:
        return select(journal).order_by(journal.c.seq)
    return _entries_of(_runs(job, kind)).order_by(_SORTED)


def mentions(place_of: Callable[..., ColumnElement[int]], text: str) -> ColumnElement[bool]:
    """Return the condition that an entry has `text` as a value in it."""
    return place_of(journal.c.entry, literal(chain.quoted(text).encode())) > 0


def latest(kind: str) -> Select[Any]:
    """Return the query for the newest entry of each job under one kind, in order."""
    runs = select(func.max(run.c.first).label("first")).where(*_filed(None, kind)).group_by(run.c.job).subquery("runs")
    end = select(func.max(journal.c.seq)).scalar_subquery()
    last = func.coalesce(_next_first(runs) - 1, end)
    return select(journal).join_from(runs, journal, journal.c.seq == last).order_by(journal.c.seq)


def newest(n: int, job: str | None, kind: str | None, before: int | None) -> Select[Any]:
    """Return the query for the newest `n` entries, the newest first."""
    query, order = select(journal), journal.c.seq.desc()
    if job is not None or kind is not None:
        # So many runs hold as many entries, so no more of them need to be looked into.
        runs = _runs(job, kind).order_by(run.c.first.desc()).limit(n)
        query, order = _entries_of(runs if before is None else runs.where(run.c.first < before)), _SORTED.desc()
    if before is not None:
        query = query.where(journal.c.seq < before)
    return query.order_by(order).limit(n)


def jobs(kind: str | None) -> Select[Any]:
    """Return the query for the names of jobs as they stand in entries, the oldest first."""
    return select(run.c.job).where(*_filed(None, kind)).group_by(run.c.job).order_by(func.min(run.c.first))


def count(job: str | None, kind: str | None) -> Select[Any]:
    """Return the query for the number of entries."""
    end = select(func.max(journal.c.seq)).scalar_subquery()
    length = func.coalesce(_next_first(run), end + 1) - run.c.first
    return select(func.coalesce(func.sum(length), 0)).where(*_filed(job, kind))


def _runs(job: str | None, kind: str | None) -> Select[Any]:
    end = func.coalesce(_next_first(run), literal(_NO_END)).label("end")
    return select(run.c.first, end).where(*_filed(job, kind))


def _entries_of(runs: Select[Any]) -> Select[Any]:
    # PostgreSQL would otherwise work out the end of a run for each entry after its beginning.
    found = runs.cte("runs").prefix_with("MATERIALIZED", dialect="postgresql")
    return select(journal).join_from(found, journal, and_(journal.c.seq >= found.c.first, journal.c.seq < found.c.end))


def _next_first(runs: FromClause) -> ScalarSelect[Any]:
    later = run.alias("later")
    return select(func.min(later.c.first)).where(later.c.first > runs.c.first).scalar_subquery()


def _filed(job: str | None, kind: str | None) -> list[ColumnElement[bool]]:
    return [*_named(run.c.job, job, ":"), *_named(run.c.kind, kind, ".")]


def _named(part: ColumnElement[Any], name: str | None, sign: str) -> list[ColumnElement[bool]]:
    """Return the conditions that a part has this name, or begins with it where it ends with the sign."""
    if name is None:
        return []
    text = chain.quoted(name)
    if not name.endswith(sign):
        return [part == text]
    begins = text[:-1]
    return [part >= begins, part < begins[:-1] + chr(ord(sign) + 1)]
