"""A job in the journal, on the virtual scale: broken off anywhere it goes on where it stood."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from scalewright.errors import LinkError, ProcedureError, RecordError, SpoiledError
from scalewright.link.reading import Reading
from scalewright.link.scale import Scale
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import AS_FOUND, AS_LEFT, Calibration
from scalewright.procedures.job import Circumstances, Job, Override, Story, open_jobs
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.perform import perform, perform_job
from scalewright.procedures.preparation import Preparation
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.requests import Answer, Load, Moment, Request, SetTare, Setting, WaitUntil
from scalewright.procedures.run import Procedure, Run
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.temperature import TemperatureTest
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.procedures.zero_and_tare import TareTest
from scalewright.records.journal import Journal
from scalewright.tolerances import AccuracyClass

LOADS = up_and_down(Decimal(3000), 2)
PLAN = Calibration(
    Held(AccuracyClass("III", Fraction(1)), readings=8),
    Preparation(("look whether the scale is level",), exercise=Load(Decimal(3000))),
    as_found=(RangeCheck(LOADS),),
    adjustment=MultiPoint(ScaleDesign(Decimal(3000), (1, 0), 1), LOADS, 8),
    as_left=(RangeCheck(LOADS),),
)
URL = "virtual://bench?speed=0"


class BrokenOff(Exception):
    """The program is gone."""


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal(tmp_path / "records.sqlite") as journal:
        yield journal


@pytest.fixture
def scale() -> Iterator[Scale]:
    with Scale.open(URL) as scale:
        yield scale


def carry_on(job: Job, scale: Scale, answers: int | None = None) -> None:
    """Go on with a job until so many answers of it are on disk."""

    def keep(request: Request, answer: Answer, accepted: str) -> None:
        job.keep(request, answer, accepted)
        if answers is not None and len(job.run.answered) + 1 == answers:
            raise BrokenOff

    perform(job.run, scale, VirtualHand(scale), keep, is_resumed=bool(job.run.answered))


def test_a_job_that_is_broken_off_after_every_answer_ends_as_one_that_was_not(journal: Journal, scale: Scale) -> None:
    whole = Job.begin(journal, PLAN, scale.identity)
    carry_on(whole, scale)
    name = Job.begin(journal, PLAN, scale.identity).name
    for answers in range(1, len(whole.run.answered)):
        job = Job.resume(journal, name)
        assert len(job.run.answered) == answers - 1
        with pytest.raises(BrokenOff):
            carry_on(job, scale, answers)
    job = Job.resume(journal, name)
    carry_on(job, scale)
    job.end(scale.identity)
    assert [request for request, _ in job.run.answered][:3] == [request for request, _ in whole.run.answered][:3]
    assert len(job.run.answered) == len(whole.run.answered) + 10 + 1  # coefficients are found: five loads more
    assert job.result.as_found is not None and whole.result.as_found is None
    assert job.passed


def test_what_was_found_is_kept_though_the_adjustment_is_left(journal: Journal, scale: Scale) -> None:
    carry_on(Job.begin(journal, PLAN, scale.identity), scale)
    job = Job.begin(journal, PLAN, scale.identity)
    with pytest.raises(BrokenOff):
        carry_on(job, scale, 20)
    job.leave("the customer wants it back as it is")
    story = Story.of(journal.entries(job=job.name), job.name)
    assert story.end is not None
    found = [outcome for outcome in story.end["outcomes"] if outcome["stage"].startswith(AS_FOUND)]
    assert len(found) == 5 and story.end["reason"] == "the customer wants it back as it is"
    assert story.replay().outcomes == job.run.outcomes
    with pytest.raises(ProcedureError, match="has ended"):
        Job.resume(journal, job.name)


def test_a_reading_is_repeated_with_a_reason_and_the_first_stays_in_the_journal(journal: Journal, scale: Scale) -> None:
    job = Job.begin(journal, PLAN, scale.identity)
    with pytest.raises(BrokenOff):
        carry_on(job, scale, 9)
    job = Job.resume(journal, job.name)
    with pytest.raises(ProcedureError, match="needs a reason"):
        job.withdraw(2, " ")
    asked = job.run.answered[-2][0]
    job.withdraw(2, "knocked the table")
    assert job.run.request == asked
    job = Job.resume(journal, job.name)
    assert job.run.request == asked
    carry_on(job, scale)
    story = Story.of(journal.entries(job=job.name), job.name)
    assert story.withdrawn == ((2, "knocked the table"),)
    kept = [entry for entry in journal.entries(job=job.name) if entry.kind == "job.answer"]
    assert len(kept) == len(story.answers) + 2
    assert story.replay().result == job.result


def test_the_whole_job_is_told_by_the_journal_alone(journal: Journal, scale: Scale) -> None:
    override = Override("mass overdue", "set F1 was due on 2026-01-31", "the new set comes on Friday")
    circumstances = Circumstances("PLOVER-1", "AB", ("F1",), overrides=(override,))
    job = Job.begin(journal, PLAN, scale.identity, circumstances)
    assert open_jobs(journal) == [job.name]
    carry_on(job, scale)
    job.end(scale.identity)
    assert open_jobs(journal) == []
    story = Story.of(journal.entries(job=job.name), job.name)
    assert (story.plan, story.circumstances) == (PLAN, circumstances)
    again = story.replay()
    assert again.result == job.result and again.outcomes == job.run.outcomes
    assert {outcome.stage for outcome in again.outcomes} == {f"{AS_LEFT}: {RangeCheck.title}"}
    assert story.begun["device"]["coefficients"] == "none"
    assert story.end is not None and story.end["device"]["events"] == scale.identity.events


def test_another_scale_does_not_go_on_with_the_job(journal: Journal, scale: Scale) -> None:
    job = Job.begin(journal, PLAN, scale.identity)
    job.check_device(scale.identity.serial_number)
    with pytest.raises(ProcedureError, match="this is scale number 7"):
        job.check_device("7")


def test_a_name_that_no_job_has_is_said_so(journal: Journal) -> None:
    with pytest.raises(RecordError, match="there is no job nothing in these records"):
        Job.resume(journal, "nothing")


class Interrupted(VirtualHand):
    """Somebody pulls the plug while the scale stands and waits, the first `times` times."""

    times = 1

    def watch(self, reading: Reading) -> None:
        if self.times and reading.time_ms > 80_000:
            self.times -= 1
            self._scale.ask("VIRTual:POWer:CYCLe 1")
            raise LinkError("unplugged", port=URL)


def interrupted(journal: Journal, scale: Scale, times: int) -> Job:
    """Carry a job on whose second part waits, through so many interruptions."""
    test = TemperatureTest((Decimal(20),), LOADS[1:2], look_every_s=30)
    tests = (RangeCheck(LOADS[:2]), test)
    plan = replace(PLAN, preparation=Preparation(warm_up_s=60), as_found=tests, adjustment=None, as_left=())
    job, hand = Job.begin(journal, plan, scale.identity), Interrupted(scale)
    hand.times, is_resumed = times, False
    while job.run.request is not None:
        try:
            perform_job(job, scale, hand, job.keep, is_resumed=is_resumed)
        except LinkError:
            scale.reconnect()
            is_resumed = True
    return job


def test_a_wait_that_a_restart_spoiled_begins_its_part_again_and_only_that(journal: Journal, scale: Scale) -> None:
    carry_on(Job.begin(journal, PLAN, scale.identity), scale)
    job = interrupted(journal, scale, 1)
    story = Story.of(journal.entries(job=job.name), job.name)
    assert story.withdrawn == ((4, "the scale was switched off during the wait"),)  # zero, air, a first look
    assert [len(answers) for stage, answers in job.run.parts if stage.title.endswith(RangeCheck.title)] == [4]
    assert job.passed and story.replay().result == job.result


class LosesItsTare(VirtualHand):
    """The scale is switched off and on right after its tare was set, so many times."""

    times = 1
    job: Job

    def act(self, setting: Setting) -> None:
        super().act(setting)
        if self.times and any(request == SetTare() for request, _ in self.job.run.answered):
            self.times -= 1
            self._scale.ask("VIRTual:POWer:CYCLe 1")
            self._scale.reconnect()


def with_tare(journal: Journal, scale: Scale, times: int) -> Job:
    """Carry a job on that loses its tare so many times."""
    carry_on(Job.begin(journal, PLAN, scale.identity), scale)
    plan = replace(PLAN, as_found=(TareTest(LOADS[1], LOADS[1:2]),), adjustment=None, as_left=())
    hand = LosesItsTare(scale)
    hand.job, hand.times = Job.begin(journal, plan, scale.identity), times
    perform_job(hand.job, scale, hand, hand.job.keep)
    return hand.job


def test_a_tare_that_a_restart_lost_is_set_again(journal: Journal, scale: Scale) -> None:
    job = with_tare(journal, scale, 1)
    story = Story.of(journal.entries(job=job.name), job.name)
    assert [why for _, why in story.withdrawn] == ["the scale was switched off meanwhile: zero and tare are lost"]
    assert job.passed


def test_a_part_that_is_spoiled_again_and_again_is_given_up_but_can_be_resumed(journal: Journal, scale: Scale) -> None:
    with pytest.raises(SpoiledError, match="zero and tare are lost"):
        with_tare(journal, scale, 9)
    job = Job.resume(journal, open_jobs(journal)[-1])
    assert job.run.answers_in_stage == 0 and job.run.stages[-1].title.endswith(TareTest.title)


def test_what_comes_after_a_wait_that_ended_too_late_is_not_asked_for(scale: Scale) -> None:
    def waits() -> Procedure[Moment]:
        moment = yield WaitUntil(500, 0, latest_ms=1000)
        assert isinstance(moment, Moment)
        return moment

    assert 500 <= perform(Run(waits), scale, VirtualHand(scale), lambda *_: None).time_ms <= 1000
    while scale.read().time_ms <= 1000:
        """Somebody lets it stand."""
    with pytest.raises(SpoiledError, match="the wait ended too late"):
        perform(Run(waits), scale, VirtualHand(scale), lambda *_: None)


def test_the_same_scale_is_found_again_and_another_is_refused(scale: Scale) -> None:
    scale.reconnect()
    scale.identity = type(scale.identity)("virtual", "another", "0.1.0", "none", 0)
    with pytest.raises(LinkError, match="another scale answers: number bench, not another"):
        scale.reconnect()


def test_a_job_of_a_registered_scale_is_found_by_its_name(journal: Journal, scale: Scale) -> None:
    job = Job.begin(journal, PLAN, scale.identity, Circumstances(scale="PLOVER-3"))
    assert job.name.startswith("PLOVER-3:Calibration:20")
    assert Job.begin(journal, PLAN, scale.identity).name.startswith("20")
