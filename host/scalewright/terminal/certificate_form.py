"""Writing the certificate of a job: what must be said the first time, and the file."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from scalewright.certificates.files import format_of, rendered, write
from scalewright.terminal.screens.form import Cell

if TYPE_CHECKING:
    from scalewright.certificates.issue import Issue
    from scalewright.records.journal import Journal


def issue_cells(by: str) -> list[Cell]:
    """Return what is asked when a certificate is issued; scalewright.certificates.issue_file has further keys."""
    return [
        Cell("details", "details file", "", "TOML, in place of the four below"),
        Cell("laboratory", "laboratory", "", "who calibrated"),
        Cell("customer", "customer", "", "whose scale it is"),
        Cell("place", "place", "", "where it was calibrated"),
        Cell("authorised_by", "authorised by", by, "initials"),
    ]


@dataclass(frozen=True)
class Writing:
    """A job whose certificate is to be written."""

    job: str
    number: str
    """of its certificate; empty where none was issued"""
    records: str
    """what the records are called on the certificate"""

    @classmethod
    def known(cls, journal: "Journal", job: str, records: Path) -> "Writing":
        """Return it as the journal knows it. Runs in a thread."""
        from scalewright.certificates.issue import issued

        numbers = [each.issue.number for each in issued(journal, job)]
        return cls(job, numbers[-1] if numbers else "", "RECORDS" if "://" in str(records) else records.name)

    def carry_out(self, journal: "Journal", typed: Mapping[str, str]) -> str:
        """Issue it if that was not done, write it, and say so. Runs in a thread. Raises ScalewrightError."""
        from scalewright.certificates.evidence import certificate_of, issue_certificate

        kind = format_of(typed["file"])
        issue = None if self.number else self._issue(typed)
        certificate = issue_certificate(journal, self.job, issue) if issue else certificate_of(journal, self.job)
        write(typed["file"], rendered(certificate, kind))
        return f"Certificate {certificate.number} is written to {typed['file']}."

    def _issue(self, typed: Mapping[str, str]) -> "Issue":
        from scalewright.certificates.document import Party
        from scalewright.certificates.issue import Issue
        from scalewright.certificates.issue_file import read_issue

        if typed["details"]:
            return replace(read_issue(typed["details"]), records=self.records)
        laboratory, customer = (Party(typed[name]) for name in ("laboratory", "customer"))
        return Issue(laboratory, customer, typed["place"], typed["authorised_by"], records=self.records)
