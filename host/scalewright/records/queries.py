"""What is asked of the records, as SQL that both stores understand."""

from collections.abc import Callable
from typing import Any

from sqlalchemy import ColumnElement, FromClause, ScalarSelect, Select, and_, func, literal, select

from scalewright.records import chain
from scalewright.records.schema import journal, run

LAST = select(journal).order_by(journal.c.seq.desc()).limit(1)

_NO_END = 2**62


def found(job: str | None, kind: str | None) -> Select[Any]:
    """Return the query for entries in order, of one job and kind if given."""
    query = select(journal) if job is None and kind is None else _entries_of(run).where(*_filed(job, kind))
    return query.order_by(journal.c.seq)


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
    query = select(journal)
    if job is not None or kind is not None:
        begun = () if before is None else (run.c.first < before,)
        # So many runs hold as many entries, so no more of them need to be looked into.
        runs = select(run).where(*_filed(job, kind), *begun).order_by(run.c.first.desc()).limit(n)
        query = _entries_of(runs.subquery("runs"))
    if before is not None:
        query = query.where(journal.c.seq < before)
    return query.order_by(journal.c.seq.desc()).limit(n)


def jobs(kind: str | None) -> Select[Any]:
    """Return the query for the names of jobs as they stand in entries, the oldest first."""
    return select(run.c.job).where(*_filed(None, kind)).group_by(run.c.job).order_by(func.min(run.c.first))


def count(job: str | None, kind: str | None) -> Select[Any]:
    """Return the query for the number of entries."""
    end = select(func.max(journal.c.seq)).scalar_subquery()
    length = func.coalesce(_next_first(run), end + 1) - run.c.first
    return select(func.coalesce(func.sum(length), 0)).where(*_filed(job, kind))


def _entries_of(runs: FromClause) -> Select[Any]:
    end = func.coalesce(_next_first(runs), literal(_NO_END))
    return select(journal).join_from(runs, journal, and_(journal.c.seq >= runs.c.first, journal.c.seq < end))


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
