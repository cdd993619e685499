"""A job at the bench as its entries in the journal: what was asked, what was answered, what came of it."""

from datetime import UTC, datetime
from typing import Any, Protocol
from uuid import uuid4

from scalewright.plain import plain
from scalewright.procedures.requests import Answer, Request

PROCEDURES_VERSION = 1
"""A replay of kept answers is valid only under the procedures that asked the questions."""


class Journal(Protocol):
    """Where entries go; see scalewright.records."""

    def append(self, kind: str, job: str, body: dict[str, Any]) -> object:
        """Return once the entry is on disk."""


class Job:
    """Entries of one job, under one name."""

    def __init__(self, journal: Journal, procedure: str, **facts: object) -> None:
        self._journal = journal
        self.name = f"{datetime.now(UTC):%Y%m%dT%H%M%SZ}-{uuid4().hex[:8]}"
        self._append("job.begun", procedure=procedure, procedures_version=PROCEDURES_VERSION, **facts)

    def keep(self, request: Request, answer: Answer) -> None:
        """Keep one answer; on disk when this returns."""
        self._append("job.answer", request=request, answer=answer)

    def end(self, **result: object) -> None:
        """Keep the result."""
        self._append("job.ended", **result)

    def _append(self, kind: str, **body: object) -> None:
        self._journal.append(kind, self.name, plain(body))
