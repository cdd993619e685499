"""A selection of entries as one file that proves itself, and the way into another journal.

JSON, one object a line, UTF-8:

    {"format":"Scalewright records","version":1,"head":{"seq":412,"hash":"…"},"selection":{"job":"…"}}
    {"previous":"…","hash":"…","entry":[7,"2031-05-04T12:30:00.000000Z","job.begun","…",{…}]}
    …
    {"entries":25,"sha256":"…"}

The head is that of the journal at the time. hash is the SHA-256 of the 32 bytes of previous and the text of entry, from
[ to ], as it stands in the file; sha256 at the end is that of all bytes before the last line.
"""

import hashlib
import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from scalewright.errors import InputError, RecordError
from scalewright.records import chain
from scalewright.records.journal import Entry, Head, Journal
from scalewright.records.new_file import new_file
from scalewright.records.selection import Selection

_FORMAT, _VERSION = "Scalewright records", 1
_ENTRY = re.compile(rb'\{"previous":"([0-9a-f]{64})","hash":"([0-9a-f]{64})","entry":(\[(\d{1,18}),.*\])\}\n')


@dataclass(frozen=True)
class Exported:
    """What a file of exported entries holds; all of it was proved."""

    head: Head
    """of the journal they come from, at the time"""
    selection: dict[str, str]
    """what they have in common, by the names of Selection"""
    entries: tuple[Entry, ...]


class ExportFault(InputError):
    """A file of exported entries is not as it was written."""

    def __init__(self, reason: str, seq: int | None, message: str, file: Path, line: int) -> None:
        super().__init__(message, file=str(file), line=line, remedy="export again, or get another copy of the file")
        self.reason = reason
        self.seq = seq


def export(journal: Journal, selection: Selection, path: Path) -> int:
    """Write the entries meant to a new file and return how many.

    Raises InputError where the file exists, and RecordError for an entry that is not as it was written.
    """
    head = journal.head()
    meant = {name: value for name, value in asdict(selection).items() if value is not None}
    total, number = hashlib.sha256(), 0
    with new_file(path) as part, part.open("wb") as file:
        for line in _lines(head, meant, (e for e in selection.entries(journal) if e.seq <= head.seq)):
            file.write(line)
            total.update(line)
            number += 1
        file.write(_json({"entries": number - 1, "sha256": total.hexdigest()}))
    return number - 1


def read_export(path: Path) -> Exported:
    """Read and prove a file of exported entries.

    Raises InputError where it is none, and ExportFault, an InputError, where it is not as it was written.
    """
    try:
        lines = path.read_bytes().splitlines(keepends=True)
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", file=str(path)) from error
    head, selection = _header(path, lines[0] if lines else b"")
    entries = tuple(_entry(path, number, line) for number, line in enumerate(lines[1:-1], 2))
    _check_order(path, head, entries)
    end = _json({"entries": len(entries), "sha256": hashlib.sha256(b"".join(lines[:-1])).hexdigest()})
    if lines[-1] != end:
        raise ExportFault("missing", None, "the last line does not fit those before it", path, len(lines))
    return Exported(head, selection, entries)


def verify_export(path: Path, expected_head: str | None = None) -> chain.Verification:
    """Return whether a file of exported entries is as it was written, and if not, what is not.

    `entries` of the verification are those in the file, its head is that of the journal they come from.
    expected_head: a hash noted earlier, which must be that of the journal's head or of an entry in the file.
    """
    try:
        found = read_export(path)
    except ExportFault as fault:
        return chain.Verification(0, chain.GENESIS, fault.seq, fault.reason, fault.message)
    if expected_head in (None, found.head.hash, *(entry.hash for entry in found.entries)):
        return chain.Verification(len(found.entries), found.head.hash)
    detail = f"neither its head nor an entry in it has the expected hash {expected_head}"
    return chain.Verification(len(found.entries), found.head.hash, None, "rewritten", detail)


def is_export(path: Path) -> bool:
    """Whether a file begins as a file of exported entries does."""
    with path.open("rb") as file:
        return file.read(len(_BEGINS)) == _BEGINS


def _lines(head: Head, meant: dict[str, str], entries: Iterable[Entry]) -> Iterator[bytes]:
    yield _json({"format": _FORMAT, "version": _VERSION, "head": head._asdict(), "selection": meant})
    for entry in entries:
        said = chain.Content(entry.at, entry.kind, entry.job, entry.body_json)
        _, hashed, found_hash = chain.link(bytes.fromhex(entry.previous), entry.seq, said)
        if found_hash.hex() != entry.hash:
            raise RecordError(f"entry {entry.seq} is not as it was written", "verify the records")
        yield f'{{"previous":"{entry.previous}","hash":"{entry.hash}","entry":'.encode() + hashed[32:] + b"}\n"


def _json(value: dict[str, Any]) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


_BEGINS = _json({"format": _FORMAT})[:-2]


def _header(path: Path, line: bytes) -> tuple[Head, dict[str, str]]:
    try:
        header = json.loads(line)
        found = (header["format"], Head(int(header["head"]["seq"]), str(header["head"]["hash"])), header["version"])
        selection = {str(name): str(value) for name, value in header["selection"].items()}
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError("not a file of exported records", file=str(path), line=1) from error
    if found[0] != _FORMAT or found[2] != _VERSION:
        expected = f"expected {_FORMAT}, version {_VERSION}"
        raise InputError(f"it is {found[0]}, version {found[2]}", file=str(path), line=1, remedy=expected)
    return found[1], selection


def _entry(path: Path, number: int, line: bytes) -> Entry:
    match = _ENTRY.fullmatch(line)
    if match is None:
        raise ExportFault("unreadable", None, "this is no entry", path, number)
    previous, stored_hash, text, seq = match.groups()
    hashed = bytes.fromhex(previous.decode()) + text
    if hashlib.sha256(hashed).hexdigest() != stored_hash.decode():
        raise ExportFault("changed", int(seq), f"entry {int(seq)} was changed", path, number)
    return Entry.of((int(seq), hashed, bytes.fromhex(stored_hash.decode())))


def _check_order(path: Path, head: Head, entries: tuple[Entry, ...]) -> None:
    last = Head(0, chain.GENESIS)
    for number, entry in enumerate(entries, 2):
        if entry.seq <= last.seq or entry.seq > head.seq:
            raise ExportFault("swapped", entry.seq, f"entry {entry.seq} cannot come after {last.seq}", path, number)
        if entry.seq == last.seq + 1 and entry.previous != last.hash:
            message = f"entry {entry.seq} does not follow from {last.seq} before it"
            raise ExportFault("changed", entry.seq, message, path, number)
        last = Head(entry.seq, entry.hash)
    if last.seq == head.seq and last.hash != head.hash:
        raise ExportFault(
            "changed", last.seq, f"entry {last.seq} is not the head of its journal", path, len(entries) + 1
        )
