"""Entries of another journal taken into this one, with what proves them.

An imported entry is an entry like others, with the same kind, job, time and body, and in the body "origin": number,
previous hash and hash that it had in the journal it comes from. The body without it gives that hash again. An entry
that comes through a third journal has an origin within its origin.
"""

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from scalewright.errors import RecordError
from scalewright.records import chain
from scalewright.records.export_file import read_export
from scalewright.records.journal import Addition, Entry, Journal

ORIGIN = "origin"


class Imported(NamedTuple):
    """What an import did."""

    added: int
    known: int
    """entries that were there already"""


def import_entries(journal: Journal, path: Path) -> Imported:
    """Add the entries of a file of exported ones that are not there yet: all or, with an exception, none.

    Raises InputError for a file that does not prove itself.
    """
    entries = read_export(path).entries
    known = {job: _hashes(journal.entries(job)) for job in {entry.job for entry in entries}}
    new = [entry for entry in entries if known[entry.job].isdisjoint(_hashes([entry]))]
    journal.append_all(map(_addition, new))
    return Imported(len(new), len(entries) - len(new))


def original(entry: Entry) -> Entry | None:
    """Return an imported entry as it was in the journal it comes from; None for one that was written here.

    Raises RecordError where it does not give its hash again.
    """
    body = entry.body
    origin: Any = body.pop(ORIGIN, None)
    if not isinstance(origin, dict) or not {"seq", "previous", "hash"} <= origin.keys():
        return None
    if ORIGIN in origin:
        body[ORIGIN] = origin[ORIGIN]
    seq, previous, expected = int(origin["seq"]), str(origin["previous"]), str(origin["hash"])
    said = chain.Content(entry.at, entry.kind, entry.job, chain.canonical(body))
    found = Entry.of(chain.link(bytes.fromhex(previous), seq, said))
    if found.hash != expected:
        raise RecordError(f"entry {entry.seq} is not what entry {seq} was in the journal it comes from")
    return found


def _hashes(entries: Any) -> set[str]:
    """Return every hash that these entries have or had."""
    return {known for entry in entries for known in _hashes_of(entry)}


def _hashes_of(entry: Entry) -> Iterator[str]:
    yield entry.hash
    origin: Any = entry.body.get(ORIGIN)
    while isinstance(origin, dict):
        yield str(origin.get("hash"))
        origin = origin.get(ORIGIN)


def _addition(entry: Entry) -> Addition:
    body: dict[str, Any] = json.loads(entry.body_json)
    origin = {"seq": entry.seq, "previous": entry.previous, "hash": entry.hash}
    if ORIGIN in body:
        origin[ORIGIN] = body[ORIGIN]
    return Addition(entry.kind, entry.job, body | {ORIGIN: origin}, datetime.fromisoformat(entry.at))
