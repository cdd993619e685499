"""Issuing: once for a job, under a number of its own, on records that hold; an amendment names what it replaces."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from scalewright.certificates.document import Party
from scalewright.certificates.evidence import certificate_of, issue_certificate
from scalewright.certificates.issue import Issue, issued, last_issued
from scalewright.errors import InputError, ProcedureError, RecordError, ScalewrightError
from scalewright.records.journal import Journal
from tests.host.certificates import perfect

ISSUE = Issue(Party("Estuary Bench (invented)"), Party("Reed Island Canteen (invented)"), "bench 2", "TS")
AT = datetime(2026, 3, 2, 11, 42, tzinfo=UTC)


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal(tmp_path / "records.sqlite") as journal:
        perfect.register_masses(journal)
        yield journal


def test_a_certificate_is_issued_under_the_next_free_number_of_the_year(journal: Journal) -> None:
    numbers = ["", "2026-0002", ""]
    jobs = [perfect.carry_out(journal) for _ in numbers]
    for job, number in zip(jobs, numbers, strict=True):
        issue_certificate(journal, job, replace(ISSUE, number=number), AT)
    assert [each.issue.number for each in issued(journal)] == ["2026-0001", "2026-0002", "2026-0003"]
    assert certificate_of(journal, jobs[0]).issued_at == AT


def test_what_was_said_at_the_issue_comes_back_whole(journal: Journal) -> None:
    job = perfect.carry_out(journal)
    issue_certificate(journal, job, replace(ISSUE, number="A-1", remarks=("one", "two"), rule="guarded"))
    assert last_issued(journal, job).issue == replace(ISSUE, number="A-1", remarks=("one", "two"), rule="guarded")


def test_a_job_has_one_certificate_until_that_is_replaced_with_a_reason(journal: Journal) -> None:
    job = perfect.carry_out(journal)
    issue_certificate(journal, job, ISSUE, AT)
    with pytest.raises(ProcedureError, match=r"has certificate 2026-0001 \(give --replaces 2026-0001"):
        issue_certificate(journal, job, ISSUE, AT)
    with pytest.raises(InputError, match="replaces certificate '2026-0009'; expected 2026-0001"):
        issue_certificate(journal, job, replace(ISSUE, replaces="2026-0009", because="wrong"), AT)
    amended = issue_certificate(journal, job, replace(ISSUE, replaces="2026-0001", because="wrong name"), AT)
    assert (amended.number, amended.replaces, amended.replaced_because) == ("2026-0002", "2026-0001", "wrong name")


def test_a_number_that_is_taken_is_refused(journal: Journal) -> None:
    first, second = (perfect.carry_out(journal) for _ in range(2))
    issue_certificate(journal, first, replace(ISSUE, number="A-1"), AT)
    with pytest.raises(InputError, match="number A-1 is taken"):
        issue_certificate(journal, second, replace(ISSUE, number="A-1"), AT)


def test_only_a_job_that_has_ended_gets_one(journal: Journal) -> None:
    open_job = perfect.begin(journal)
    with pytest.raises(ProcedureError, match="has not ended with a result"):
        issue_certificate(journal, open_job.name, ISSUE)
    open_job.leave("the cable was lost")
    with pytest.raises(ProcedureError, match="has not ended with a result"):
        issue_certificate(journal, open_job.name, ISSUE)
    with pytest.raises(InputError, match="there is no job 'nothing'"):
        issue_certificate(journal, "nothing", ISSUE)
    with pytest.raises(InputError, match="no certificate was issued"):
        certificate_of(journal, open_job.name)


def test_nothing_is_issued_where_the_job_does_not_tell_enough(journal: Journal) -> None:
    check = perfect.RangeCheck(perfect.BARE_LOADS)  # nobody knows how right these loads are
    job = perfect.carry_out(journal, replace(perfect.PLAN, as_found=(), as_left=(check,)))
    head = journal.head()
    with pytest.raises(InputError, match=r"nothing says how well the load of 500 g is known.*register the reference"):
        issue_certificate(journal, job, ISSUE)
    assert journal.head() == head


def test_on_records_that_do_not_hold_nothing_is_issued(journal: Journal, tmp_path: Path) -> None:
    job = perfect.carry_out(journal)
    journal.close()
    path = tmp_path / "records.sqlite"
    data = path.read_bytes()
    at = data.index(b"first registered")
    path.write_bytes(data[:at] + b"f" + data[at + 1 :].replace(b"irst", b"1rst", 1))
    with Journal(path) as damaged, pytest.raises(RecordError, match="no certificate is issued"):
        issue_certificate(damaged, job, ISSUE)


@pytest.mark.parametrize(
    "changes",
    [
        {"authorised_by": "Somebody Whole"},
        {"authorised_by": ""},
        {"rule": "generous"},
        {"location": "moon"},
        {"place": " "},
        {"customer": Party("")},
        {"replaces": "A-1"},
        {"because": "why not"},
    ],
)
def test_what_cannot_be_said_is_refused(changes: dict[str, object]) -> None:
    with pytest.raises(ScalewrightError, match="expected"):
        replace(ISSUE, **changes)  # type: ignore[arg-type]
