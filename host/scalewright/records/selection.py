"""Which entries are meant: of a job, a scale, a kind, a time."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from scalewright.records.journal import Entry, Journal


@dataclass(frozen=True)
class Selection:
    """What entries must have in common; None for what does not matter."""

    job: str | None = None
    """one that ends with a colon means all jobs that begin so"""
    scale: str | None = None
    """key in the register of scales, or the serial number that its device gave when a job began"""
    kind: str | None = None
    """one that ends with a dot means all kinds that begin so"""
    since: str | None = None
    """UTC, ISO 8601: this moment or later"""
    until: str | None = None
    """before this moment"""

    def entries(self, journal: Journal) -> Iterator[Entry]:
        """Iterate over the entries meant, in order."""
        found = journal.entries(self.job, self.kind) if self.scale is None else iter(self._of_scale(journal))
        for entry in found:
            if (self.since is None or entry.at >= self.since) and (self.until is None or entry.at < self.until):
                yield entry

    def newest(self, journal: Journal, n: int, before: int | None = None) -> list[Entry]:
        """Return the newest `n` of the entries meant, the newest first: numbered below `before`, if given."""
        if self.scale is self.since is self.until is None:
            return journal.newest(n, kind=self.kind, job=self.job, before=before)
        return [entry for entry in self.entries(journal) if before is None or entry.seq < before][: -n - 1 : -1]

    def _of_scale(self, journal: Journal) -> list[Entry]:
        jobs = jobs_of_scale(journal, str(self.scale))
        entries = [entry for job in jobs if self._means(job) for entry in journal.entries(job, self.kind)]
        return sorted(entries, key=lambda entry: entry.seq)

    def _means(self, job: str) -> bool:
        return self.job in (None, job) or (self.job is not None and self.job[-1:] == ":" and job.startswith(self.job))


def jobs_of_scale(journal: Journal, scale: str) -> set[str]:
    """Return the names of the jobs of a scale, and of its own entries in the register."""
    begun = journal.entries(kind="job.begun", mentions=scale)
    return {scale, *(entry.job for entry in begun if _is_of(entry.body, scale))}


def _is_of(begun: dict[str, Any], scale: str) -> bool:
    names = (begun.get("circumstances", {}).get("scale"), begun.get("device", {}).get("serial_number"))
    return scale in names
