"""Issuing: what a certificate says that no measurement tells, kept in the journal with the job it is about.

An entry "certificate.issued" under the name of the job. Its hash is what the certificate prints: it proves the job, the
registers it relied on, and this very entry. Made again from the same records, a certificate is the same, byte for byte.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Any

from scalewright.analysis.decision import RULES
from scalewright.certificates.document import Condition, Party
from scalewright.equipment import initials
from scalewright.errors import InputError, ProcedureError, RecordError
from scalewright.plain import plain, revive
from scalewright.records.journal import Entry, Journal

KIND = "certificate.issued"
LOCATIONS = ("laboratory", "customer", "other")


@dataclass(frozen=True)
class Issue:
    """What is said when a certificate is issued. Texts are one line each; people by initials."""

    laboratory: Party
    customer: Party
    place: str
    authorised_by: str
    number: str = ""
    """empty: the next free one, such as 2026-0007"""
    location: str = LOCATIONS[0]
    rule: str = "simple"
    """one of analysis.decision.RULES"""
    received_on: date | None = None
    scale_name: str = ""
    """empty: as registered, or as the device names itself"""
    scale_place: str = ""
    condition: str = ""
    """of the scale when it was taken over"""
    deviations: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    conditions: tuple[Condition, ...] = ()
    """of the surroundings, as read; instrument: its key in the register, where it is registered"""
    scenario: str = ""
    replaces: str = ""
    because: str = ""
    """why it replaces that certificate"""
    records: str = ""
    """what the records were called; never a URL with a password"""

    def __post_init__(self) -> None:
        initials(self.authorised_by)
        if self.rule not in RULES:
            raise InputError(f"decision rule {self.rule[:40]!a}; expected one of {', '.join(RULES)}")
        if self.location not in LOCATIONS:
            raise InputError(f"location {self.location[:40]!a}; expected one of {', '.join(LOCATIONS)}")
        if not self.laboratory.name.strip() or not self.customer.name.strip() or not self.place.strip():
            raise InputError("expected the name of laboratory and customer, and the place of the calibration")
        if bool(self.replaces) != bool(self.because.strip()):
            raise InputError("a certificate that replaces another names it and says why; expected both, or neither")


@dataclass(frozen=True)
class Issued:
    """A certificate as the journal has it."""

    entry: Entry
    issue: Issue

    @classmethod
    def of(cls, entry: Entry) -> "Issued":
        """Read an entry. Raises RecordError where it holds no issue."""
        return cls(entry, revive(entry.body.get("issue"), Issue, f"entry {entry.seq}"))


def issued(journal: Journal, job: str | None = None) -> Iterator[Issued]:
    """Iterate over the certificates of one job, or of all, as they were issued."""
    return (Issued.of(entry) for entry in journal.entries(job, KIND))


def last_issued(journal: Journal, job: str) -> Issued:
    """Return the certificate of a job that holds. Raises InputError where none was issued."""
    found = list(issued(journal, job))
    if not found:
        raise InputError(f"no certificate was issued for job {job}", remedy="give --details FILE to issue one")
    return found[-1]


def check(journal: Journal, job: str, issue: Issue) -> None:
    """Raise what keeps a certificate from being issued.

    ProcedureError where the job has one already, unless this replaces it, or has not ended with a result; InputError
    for a job that is not there or a number that is taken; RecordError where the records do not hold.
    """
    _check_job(journal, job)
    _check_replaced(list(issued(journal, job)), issue, job)
    if issue.number and issue.number in {each.issue.number for each in issued(journal)}:
        raise InputError(f"certificate number {issue.number} is taken; expected another, or none for the next free one")


def put(journal: Journal, job: str, issue: Issue, at: datetime | None = None) -> Issued:
    """Issue a certificate that `check` lets pass; it is on disk when this returns. at: when; now, if not given."""
    taken = {each.issue.number for each in issued(journal)}
    year = (at or datetime.now(UTC)).year
    free = (f"{year}-{n:04}" for n in range(1, len(taken) + 2) if f"{year}-{n:04}" not in taken)
    numbered = replace(issue, number=issue.number or next(free))
    body: dict[str, Any] = {"issue": plain(numbered)}
    return Issued(journal.append(KIND, job, body, at), numbered)


def _check_job(journal: Journal, job: str) -> None:
    kinds = {entry.kind for entry in journal.entries(job)}
    if "job.begun" not in kinds:
        raise InputError(f"there is no job {job[:60]!a} in these records", remedy="scalewright records list shows them")
    if "job.ended" not in kinds:
        raise ProcedureError(f"job {job} has not ended with a result", "a certificate is for a finished job")
    verification = journal.verify()
    if not verification.holds:
        raise RecordError(f"no certificate is issued: {verification}", "find out what happened to the records first")


def _check_replaced(before: list[Issued], issue: Issue, job: str) -> None:
    last = before[-1].issue.number if before else ""
    if before and not issue.replaces:
        remedy = f"give --replaces {last} and --because WHY, where it must be amended"
        raise ProcedureError(f"job {job} has certificate {last}", remedy)
    if issue.replaces and issue.replaces != last:
        expected = last or "none, for the job has no certificate yet"
        raise InputError(f"it replaces certificate {issue.replaces[:40]!a}; expected {expected}")
