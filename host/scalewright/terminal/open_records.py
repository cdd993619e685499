"""The journal, opened for as long as one piece of work takes. Whoever calls this is a thread that may wait."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from scalewright.records.journal import Journal

Found = TypeVar("Found")


def are_there(records: Path) -> bool:
    """Is there anything to be read? A database on a server is there, or says that it is not."""
    return "://" in str(records) or records.is_file()


def with_journal(records: Path, act: "Callable[[Journal], Found]", *, writes: bool = False) -> Found:
    """Return what `act` finds in the journal. Raises RecordError, InputError."""
    from scalewright.records.journal import Journal  # brings SQLAlchemy along, for which no screen shall wait

    with Journal(records, read_only=not writes) as journal:
        return act(journal)
