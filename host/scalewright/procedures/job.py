"""A job at the bench as its entries in the journal: what was asked, what was answered, what came of it."""

from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, Protocol
from uuid import uuid4

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


def plain(value: object) -> Any:
    """Return a value as what JSON can hold: decimals as exact text, bytes as hexadecimal, dataclasses by field name."""
    if is_dataclass(value) and not isinstance(value, type):
        named = {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        return {"is": type(value).__name__, **named}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, Fraction):
        return f"{float(value):.9g}"
    return str(value) if isinstance(value, Decimal) else value
