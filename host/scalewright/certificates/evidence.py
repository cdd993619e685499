"""From the journal to the facts of a certificate. Nothing else is asked: the same record gives the same facts.

Answers are replayed through the procedures that asked for them, so every result is computed anew from raw counts.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from scalewright.analysis.decision import RULES, normal_probability
from scalewright.certificates.document import (
    Certificate,
    Condition,
    Limits,
    Method,
    Override,
    Proof,
    RawReading,
    ScaleFacts,
    Test,
)
from scalewright.certificates.equipment_facts import RegistersThen, condition_facts, mass_facts, scale_facts
from scalewright.certificates.issue import KIND, Issue, Issued, check, issued, last_issued, put
from scalewright.certificates.limit_steps import limit_steps
from scalewright.certificates.results import FROM_PAIRS, NOT_OFF_CENTRE, FoundState, Judge
from scalewright.equipment import MassSet, RegisteredScale
from scalewright.errors import InputError, ProcedureError, RecordError
from scalewright.procedures.calibration import AS_FOUND, AS_LEFT, Calibration, CalibrationResult, NotTested
from scalewright.procedures.job import PROCEDURES_VERSION, Story
from scalewright.procedures.requests import PlaceLoad, ReadCoefficients, StillReading
from scalewright.procedures.scale_under_test import division_of
from scalewright.records import chain
from scalewright.records.journal import Entry, Journal
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord, decode

NORMS = ("EURAMET cg-18 v4.0",)
_COVERAGE_FACTOR = 2.0
_TENTH = Decimal("0.1")


def certificate_of(journal: Journal, job: str) -> Certificate:
    """Return the facts of the certificate that was last issued for a job.

    Raises InputError where none was, or where the job does not tell enough; RecordError where an entry of it is not as
    it was written; ProcedureError where it was done by procedures of another version.
    """
    return _Evidence(journal, last_issued(journal, job)).certificate()


def last_job_of(journal: Journal, scale: str) -> str:
    """Return the job of the certificate last issued for a registered scale. Raises InputError where there is none."""
    with_certificate = [each.entry.job for each in issued(journal)]
    for job in reversed(with_certificate):
        begun = next(journal.entries(job, "job.begun"))
        if begun.body["circumstances"]["scale"] == scale:  # type: ignore[index]
            return job
    raise InputError(f"no certificate was issued for scale {scale[:40]!a}", remedy="or name the job by --job")


def issue_certificate(journal: Journal, job: str, issue: Issue, at: datetime | None = None) -> Certificate:
    """Issue a certificate, once it is sure that the job tells enough for one, and return its facts.

    at: when; now, if not given. Raises what `certificate_of` and `issue.put` raise, with nothing issued.
    """
    check(journal, job, issue)
    head = journal.head()
    draft = Entry(head.seq + 1, datetime.now(UTC).isoformat(), KIND, job, "{}", head.hash, "")
    _Evidence(journal, Issued(draft, issue)).certificate()
    put(journal, job, issue, at)
    return certificate_of(journal, job)


class _Evidence:
    """A job with everything the journal knew of it when the certificate was issued."""

    def __init__(self, journal: Journal, given: Issued) -> None:
        self._issue, self._issued = given.issue, given.entry
        self._entries = [entry for entry in journal.entries(given.entry.job) if entry.seq <= given.entry.seq]
        _check_hashes(self._entries)
        self._story = Story.of(self._entries, given.entry.job)
        if self._story.begun["procedures_version"] != PROCEDURES_VERSION:
            raise ProcedureError("the job was done by other procedures", "use the Scalewright that it was done with")
        self._run = self._story.replay()
        self._known = self._story.circumstances
        self._registers = RegistersThen(journal, self._entries[0].seq, given.entry.seq)
        self._masses = tuple(self._registers.find(MassSet, key) for key in self._known.masses)

    def certificate(self) -> Certificate:
        """Put everything together."""
        self._ended()  # first of all: what has not ended has no result
        issue, tests = self._issue, self._tests()
        return Certificate(
            number=issue.number,
            issued_at=_moment(self._issued),
            laboratory=issue.laboratory,
            customer=issue.customer,
            scale=self._scale(),
            begun_on=_moment(self._entries[0]).date(),
            ended_on=self._ended_on(),
            place=issue.place,
            location=issue.location,
            method=Method("; ".join(self._titles()), NORMS, (*issue.deviations, *_left_out(tests))),
            tests=tests,
            proof=Proof(self._issued.job, self._issued.seq, self._issued.hash, issue.records or "RECORDS"),
            calibrated_by=self._known.by,
            authorised_by=issue.authorised_by,
            limits=self._limits(),
            adjustment=self._adjustment(),
            masses=tuple(mass_facts(masses, self._used()) for masses in self._masses),
            conditions=(*self._scale_temperature(), *(condition_facts(c, self._registers) for c in issue.conditions)),
            overrides=tuple(self._overrides()),
            remarks=tuple(text for text in (self._known.remarks, *issue.remarks, *self._withdrawn()) if text),
            received_on=issue.received_on,
            replaces=issue.replaces,
            replaced_because=issue.because,
            raw=tuple(self._raw()),
            scenario=issue.scenario,
        )

    @property
    def _plan(self) -> Calibration:
        plan = self._story.plan
        if not isinstance(plan, Calibration):
            raise InputError(f"job {self._issued.job} is no calibration; a certificate needs one")
        return plan

    @property
    def _result(self) -> CalibrationResult:
        result = self._run.result
        assert isinstance(result, CalibrationResult)  # for the plan is one
        return result

    def _tests(self) -> tuple[Test, ...]:
        plan, result = self._plan, self._result
        if result.adjustment is None:
            return (self._test(f"{AS_FOUND} and {AS_LEFT}", AS_FOUND, plan.as_found, result.as_found or ()),)
        left = self._test(AS_LEFT, AS_LEFT, plan.as_left, result.as_left or ())
        if not result.as_found or any(isinstance(part, NotTested) for part in result.as_found):
            return (left,)
        return (self._test(AS_FOUND, AS_FOUND, plan.as_found, result.as_found), left)

    def _test(self, state: str, stage: str, plans: tuple[Any, ...], results: tuple[Any, ...]) -> Test:
        is_left = stage == AS_LEFT
        record = self._record_left() if is_left else self._record_found()
        tested = FoundState(state, stage, plans, results, tuple(self._run.outcomes), record, is_left)
        return Judge(RULES[self._issue.rule], self._masses, self._plan.held).test(tested)

    def _record_found(self) -> CoefficientRecord:
        data = next(answer for request, answer, _ in self._story.answers if isinstance(request, ReadCoefficients))
        record: CoefficientRecord = decode(data)
        return record

    def _record_left(self) -> CoefficientRecord:
        adjustment = self._result.adjustment
        record: CoefficientRecord = decode(adjustment.coefficients) if adjustment else self._record_found()
        return record

    def _limits(self) -> Limits:
        held, rule = self._plan.held, RULES[self._issue.rule]
        record = self._record_left()
        interval_g = held.limits.e_g if isinstance(held.limits, AccuracyClass) else division_of(record)
        steps = limit_steps(held, record.max_divisions * division_of(record), interval_g)
        source = held.limits.source + (", in service" if held.in_service else "")
        return Limits(source, steps, rule.words, normal_probability(-float(rule.guard_factor) * _COVERAGE_FACTOR))

    def _scale(self) -> ScaleFacts:
        known = self._registers.find(RegisteredScale, self._known.scale) if self._known.scale else None
        limits = self._plan.held.limits
        return scale_facts(self._ended()["device"], known, self._issue, self._record_left(), limits)

    def _titles(self) -> list[str]:
        plan = self._plan
        return list(dict.fromkeys(test.title for test in (*plan.as_found, *plan.as_left)))

    def _adjustment(self) -> str:
        adjustment = self._plan.adjustment
        if self._result.adjustment is None or adjustment is None:
            return ""
        not_tested = [part.reason for part in self._result.as_found or () if isinstance(part, NotTested)]
        if self._result.as_found is None:
            not_tested = ["the scale had no coefficients"]
        before = f"; not tested as found: {not_tested[0]}" if not_tested else ""
        return f"{adjustment.title} up to {float(adjustment.full_g):.6g} g, stored in the scale{before}"

    def _raw(self) -> Iterator[RawReading]:
        placed = PlaceLoad(Decimal(0))
        for request, answer, _ in self._story.answers:
            if isinstance(request, PlaceLoad):
                placed = request
            if isinstance(answer, StillReading):
                load = placed.load_g, placed.pieces, placed.added_g, placed.ballast_g, placed.at.name
                taken = answer.counts_sum, answer.readings, answer.spread_counts, answer.time_ms
                yield RawReading(*load, *taken, answer.temperature_c)

    def _used(self) -> set[str]:
        return {name for request, _, _ in self._story.answers for name in getattr(request, "pieces", ())}

    def _scale_temperature(self) -> Iterator[Condition]:
        answers = [answer for _, answer, _ in self._story.answers if isinstance(answer, StillReading)]
        found = [answer.temperature_c for answer in answers if answer.temperature_c is not None]
        if found:
            low, high = (end.quantize(_TENTH) for end in (min(found), max(found)))
            yield Condition("temperature of the scale", low, high, "°C", instrument="the scale's own thermometer")

    def _overrides(self) -> Iterator[Override]:
        by = self._known.by
        yield from (Override(f"{each.guard}: {each.objection}", each.reason, by) for each in self._known.overrides)
        yield from (Override("a reading that was refused", why, by) for _, _, why in self._story.answers if why)

    def _withdrawn(self) -> Iterator[str]:
        for answers, reason in self._story.withdrawn:
            yield f"{answers} answers were withdrawn and taken again: {reason}"

    def _ended(self) -> dict[str, Any]:
        if self._story.end is None:
            raise ProcedureError(f"job {self._issued.job} has not ended", "a certificate is for a finished job")
        return self._story.end

    def _ended_on(self) -> date:
        return max(_moment(entry) for entry in self._entries if entry.kind == "job.ended").date()


def _check_hashes(entries: Sequence[Entry]) -> None:
    """Raise RecordError on the first entry that is not as it was written, as far as its own hash tells."""
    for entry in entries:
        if chain.digest(entry.previous, entry.seq, entry.at, entry.kind, entry.job, entry.body_json) != entry.hash:
            raise RecordError(f"entry {entry.seq} was changed", "scalewright records verify tells what holds")


def _left_out(tests: Sequence[Test]) -> Iterator[str]:
    if any(not test.repeatability for test in tests):
        yield FROM_PAIRS
    if any(test.eccentricity is None for test in tests):
        yield NOT_OFF_CENTRE


def _moment(entry: Entry) -> datetime:
    return datetime.fromisoformat(entry.at)
