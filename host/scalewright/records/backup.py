"""Backup of all records while work goes on, and the way back, which loses nothing that is there."""

from itertools import count, zip_longest
from pathlib import Path
from typing import NamedTuple

from scalewright.errors import RecordError, ScalewrightError
from scalewright.records import chain
from scalewright.records.journal import Journal
from scalewright.records.new_file import new_file
from scalewright.records.store import where

_COMPANIONS = ("-wal", "-shm")  # SQLite's own beside a records file that is in use, or was when the power failed


class Restored(NamedTuple):
    """What a restoration did."""

    added: int
    """entries"""
    verification: chain.Verification
    """of the records as they are now"""
    aside: Path | None = None
    """where the file is now that was in the way"""


def back_up(journal: Journal, path: Path) -> chain.Verification:
    """Write all records, as they are at this moment, to a new records file, and return its verification.

    Others may go on writing. Where entries are found is worked out anew, so a backup is right where that was damaged.
    Raises RecordError, with nothing written, for records that do not hold, and InputError where the file exists.
    """
    with new_file(path) as part:
        try:
            with Journal(part) as copy:
                copy.take_over(journal.rows(), 0)
                verification = copy.verify()
            if not verification.holds:
                raise RecordError(f"{journal.store.place}: no backup was made, for {verification}")
        finally:
            for companion in _COMPANIONS:
                part.with_name(part.name + companion).unlink(missing_ok=True)
    return verification


def restore(path: Path, address: str | Path, *, replace: bool = False) -> Restored:
    """Bring records to where a backup is: what they lack is added; they are made where there are none.

    Records with entries that the backup does not have stay as they are, which RecordError says, unless they are to be
    replaced: then their file is put aside under another name, whatever is in it. Raises RecordError also for a backup
    that does not hold.
    """
    place = where(address)
    with Journal(path, read_only=True) as backup:
        verification = backup.verify()
        if not verification.holds:
            raise RecordError(f"{path}: {verification}", "take another backup")
        if isinstance(place, Path) and not place.exists():
            return Restored(verification.entries, back_up(backup, place))
        try:
            return _add_what_is_missing(backup, address)
        except ScalewrightError:
            if not replace or not isinstance(place, Path):
                raise
            return _replace(backup, place)


def _add_what_is_missing(backup: Journal, address: str | Path) -> Restored:
    with Journal(address) as journal:
        known = _length_in_common(backup, journal)
        theirs, ours = backup.head().seq, journal.head().seq
        if known < min(theirs, ours):
            raise RecordError(
                f"{journal.store.place}: entry {known + 1} is another one than in {backup.store.place}",
                "nothing was changed; a file can be put aside and replaced",
            )
        added = journal.take_over(backup.rows(known), known) if known < theirs else 0
        return Restored(added, journal.verify())


def _length_in_common(one: Journal, other: Journal) -> int:
    number = 0
    for a, b in zip_longest(one.rows(), other.rows()):
        if a is None or b is None or tuple(a) != tuple(b):
            break
        number += 1
    return number


def _replace(backup: Journal, path: Path) -> Restored:
    names = (path.with_name(f"{path.name}.aside-{n}") for n in count(1))
    aside = next(name for name in names if not name.exists())
    _move(path, aside)
    try:
        verification = back_up(backup, path)
    except BaseException:
        _move(aside, path)
        raise
    return Restored(verification.entries, verification, aside)


def _move(path: Path, to: Path) -> None:
    """Move a records file with what belongs to it. A program that has it open goes on with the moved one."""
    for companion in ("", *_COMPANIONS):
        part = path.with_name(path.name + companion)
        if part.exists():
            part.rename(to.with_name(to.name + companion))
