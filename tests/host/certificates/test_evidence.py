"""From the journal to facts: what was withdrawn, accepted, set aside and registered is on the certificate."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from scalewright.certificates.document import Condition
from scalewright.certificates.evidence import certificate_of, issue_certificate, last_job_of
from scalewright.certificates.results import FROM_PAIRS, NOT_OFF_CENTRE
from scalewright.equipment import Certificate as Paper
from scalewright.equipment import Instrument, RegisteredScale
from scalewright.errors import InputError
from scalewright.procedures.daily_check import DailyCheck
from scalewright.procedures.job import Circumstances, Job, Override
from scalewright.records.journal import Journal
from scalewright.records.registers import put
from tests.host.certificates import bench, perfect
from tests.host.certificates.test_issue import AT, ISSUE

SCALE = RegisteredScale("PERFECT", "virtual", "PERFECT-1", Decimal(1500), Decimal(1), perfect.HELD.limits, place="here")


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal(tmp_path / "records.sqlite") as journal:
        perfect.register_masses(journal)
        yield journal


def test_a_scale_that_came_without_coefficients_has_no_results_as_found(journal: Journal) -> None:
    certificate = issue_certificate(journal, perfect.carry_out(journal), ISSUE, AT)
    assert [test.state for test in certificate.tests] == ["as left"]
    assert certificate.adjustment == "adjustment up to 1499.99 g, stored in the scale; not tested as found: " \
        "the scale had no coefficients"
    assert certificate.method.procedure == "errors over the range"


def test_what_was_not_tested_is_a_deviation(journal: Journal) -> None:
    certificate = issue_certificate(journal, perfect.carry_out(journal), replace(ISSUE, deviations=("no wind",)), AT)
    assert certificate.method.deviations == ("no wind", FROM_PAIRS, NOT_OFF_CENTRE)
    whole = bench.finished("kitchen").certificate
    assert whole.method.deviations == ()
    assert whole.method.procedure == "errors over the range; repeatability; eccentricity; accuracy of zero-setting"
    assert [finding.what for finding in whole.final.findings] == ["error of zero"]


def test_the_device_as_it_was_left_is_named(journal: Journal) -> None:
    scale = issue_certificate(journal, perfect.carry_out(journal), ISSUE, AT).scale
    assert (scale.serial_number, scale.firmware, scale.coefficients_crc) == ("PERFECT-1", "0.1.0", "0BADCAFE")
    assert (scale.event_counter, scale.name, scale.max_g, scale.division_g) == (3, "virtual", 1500, 1)
    assert (scale.accuracy_class, scale.e_g, scale.min_g) == ("III", 1, 20)  # OIML R 76-1:2006, table 3: 20 e


def test_readings_withdrawn_and_guards_set_aside_are_told_with_their_reasons(journal: Journal) -> None:
    aside = Override("mass overdue", "SET-P was due on 2026-01-01", "no other was at hand")
    job = perfect.begin(journal, told=replace(perfect.TOLD, overrides=(aside,), remarks="a warm day"))
    perfect.answer_all(job, most=9)
    job.withdraw(2, "knocked the table")
    perfect.answer_all(job)
    job.end(perfect.IDENTITY)
    certificate = issue_certificate(journal, job.name, replace(ISSUE, remarks=("said at the issue",)), AT)
    (override,) = certificate.overrides
    assert (override.objection, override.reason, override.by) == (
        "mass overdue: SET-P was due on 2026-01-01",
        "no other was at hand",
        "KM",
    )
    assert certificate.remarks == (
        "a warm day",
        "said at the issue",
        "2 answers were withdrawn and taken again: knocked the table",
    )


def test_a_reading_accepted_against_a_refusal_is_told(journal: Journal) -> None:
    job = perfect.begin(journal)
    perfect.answer_all(job, most=3)
    request = job.run.request
    assert request is not None
    answer = perfect.PerfectScale(b"", Decimal(1500), 10).answer(request)
    job.keep(request, answer, "the scale is known to be off")
    job.run.answer(answer)
    perfect.answer_all(job)
    job.end(perfect.IDENTITY)
    (override,) = issue_certificate(journal, job.name, ISSUE, AT).overrides
    assert (override.objection, override.reason) == ("a reading that was refused", "the scale is known to be off")


def test_registers_count_as_they_stood_when_the_job_began(journal: Journal) -> None:
    paper = Paper("SM-1", "invented laboratory", date(2025, 1, 1), date(2027, 1, 1))
    put(journal, replace(perfect.MASSES, certificate=paper), "KM", "calibrated")
    put(journal, SCALE, "KM", "first registered")
    job = perfect.carry_out(journal, told=replace(perfect.TOLD, scale="PERFECT"))
    put(journal, replace(SCALE, place="elsewhere"), "KM", "moved")
    put(journal, replace(perfect.MASSES, certificate=replace(paper, number="SM-2")), "KM", "calibrated again")
    certificate = issue_certificate(journal, job, ISSUE, AT)
    assert (certificate.scale.name, certificate.scale.place) == ("PERFECT", "here")
    assert certificate.masses[0].certificate == "SM-1"
    assert certificate.masses[0].pieces == ("500", "1000")
    assert last_job_of(journal, "PERFECT") == job
    with pytest.raises(InputError, match="no certificate was issued for scale 'OTHER'"):
        last_job_of(journal, "OTHER")


def test_a_condition_is_corrected_as_the_instrument_that_read_it_is_registered(journal: Journal) -> None:
    put(journal, Instrument("T-1", "thermometer", Decimal("0.45"), Decimal(3), Decimal("-0.1")), "KM", "new")
    read = Condition("air temperature", Decimal("21.4"), Decimal("22.0"), "°C", instrument="T-1")
    other = Condition("air pressure", Decimal(1013), Decimal(1013), "hPa", instrument="B-1")
    job = perfect.carry_out(journal)
    found = issue_certificate(journal, job, replace(ISSUE, conditions=(read, other)), AT).conditions
    assert (found[0].low, found[0].high, found[0].expanded_u) == (Decimal("21.3"), Decimal("21.9"), Decimal("0.3"))
    assert found[0].instrument == "thermometer T-1"
    assert found[1] == other
    put(journal, Instrument("B-1", "barometer", Decimal(5), correction=Decimal(9)), "KM", "only after the issue")
    assert certificate_of(journal, job).conditions == found


def test_masses_that_are_not_registered_stop_it(journal: Journal) -> None:
    job = perfect.carry_out(journal, told=Circumstances(by="KM", masses=("GONE",)))
    with pytest.raises(InputError, match="GONE was not registered"):
        issue_certificate(journal, job, ISSUE, AT)


def test_results_are_computed_anew_from_the_counts_not_taken_from_the_end_of_the_job(journal: Journal) -> None:
    job = perfect.begin(journal)
    perfect.answer_all(job)
    job.run.outcomes.clear()
    journal.append("job.ended", job.name, {"result": None, "outcomes": [], "device": vars(perfect.IDENTITY)})
    issue_certificate(journal, job.name, ISSUE, AT)
    assert len(certificate_of(journal, job.name).final.points) == len(perfect.LOADS)


def test_a_scale_that_drifts_between_rising_and_falling_loads_shows_it_in_its_uncertainty(journal: Journal) -> None:
    still, drifting = perfect.begin(journal), perfect.begin(journal)
    perfect.answer_all(still)
    perfect.answer_all(drifting, perfect.shifted(400))
    for job in (still, drifting):
        job.end(perfect.IDENTITY)
    quiet, loud = (issue_certificate(journal, job.name, ISSUE, AT).final.points[-1] for job in (still, drifting))
    assert loud.expanded_u_g > 3 * quiet.expanded_u_g


def test_what_is_added_to_a_job_after_the_issue_changes_nothing(journal: Journal) -> None:
    job = perfect.carry_out(journal)
    certificate = issue_certificate(journal, job, ISSUE, AT)
    device = {**vars(perfect.IDENTITY), "events": 99}
    journal.append("job.ended", job, {"result": None, "outcomes": [], "passed": True, "device": device})
    assert certificate_of(journal, job) == certificate


def test_a_daily_check_is_no_calibration(journal: Journal) -> None:
    check = DailyCheck(perfect.HELD, (perfect.LOADS[1],))
    job = Job.begin(journal, check, perfect.IDENTITY, perfect.TOLD)
    job.end(perfect.IDENTITY)
    with pytest.raises(InputError, match="is no calibration"):
        issue_certificate(journal, job.name, ISSUE, AT)
