"""The daily check as a job in the journal: what the control chart finds there."""

from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from scalewright.errors import ProcedureError
from scalewright.link.scale import Scale
from scalewright.procedures.daily_check import CheckedMass, DailyCheck
from scalewright.procedures.job import Job, Story
from scalewright.procedures.perform import perform
from scalewright.procedures.rehearsal import rehearse
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.records.journal import Journal
from scalewright.tolerances import AccuracyClass
from tests.host.procedures.virtual_bench import URL, coefficients, failing, loads, performed

IN_SERVICE = Held(AccuracyClass("III", Fraction(1)), in_service=True, readings=8)
PLAN = DailyCheck(IN_SERVICE, loads(500, 2000))


def test_what_is_kept_is_what_the_chart_needs(tmp_path: Path) -> None:
    with Scale.open(URL) as scale, Journal(tmp_path / "records.sqlite") as journal:
        scale.store_coefficients(coefficients())
        job = Job.begin(journal, PLAN, scale.identity)
        perform(job.run, scale, VirtualHand(scale), job.keep)
        job.end(scale.identity)
        story = Story.of(journal.entries(job=job.name), job.name)
    assert story.begun["procedure"] == "DailyCheck" and story.plan == PLAN
    assert story.end is not None and story.end["passed"]
    assert story.end["device"]["coefficients"] == scale.identity.coefficients  # with others it is another chart
    kept = [(entry["load_g"], Fraction(entry["error_g"]), entry["limit_g"]) for entry in story.end["result"]]
    assert kept == [(str(mass.load_g), mass.error_g, str(mass.limit_g)) for mass in job.result]
    # OIML R 76-1:2006, 3.5.2: in service twice the limits of table 6, 0.5 e up to 500 e, 1 e up to 2000 e
    assert [(mass.load_g, mass.limit_g) for mass in job.result] == [(500, 1), (2000, 2)]


def test_a_wrong_mass_fails_its_own_check_only() -> None:
    with Scale.open(URL) as scale:
        scale.store_coefficients(coefficients())
        scale.ask("VIRTual:MASS 2000,-2.2")
        run = performed(PLAN, scale)
    assert failing(run) == ["error at 2000 g"]
    assert not PLAN.passed(run.outcomes)
    light: CheckedMass = run.result[1]
    assert light.indication_g == Decimal(1998)
    assert float(light.error_g) == pytest.approx(-2.2, abs=0.15)


def test_the_zero_of_the_user_stays() -> None:
    with Scale.open(URL) as scale:
        scale.store_coefficients(coefficients())
        for _ in range(40):  # at rest
            scale.read()
        scale.ask("SENSe:ZERO")
        before = scale.ask("SENSe:ZERO?")
        performed(PLAN, scale)
        assert scale.ask("SENSe:ZERO?") == before


def test_it_takes_seconds() -> None:
    outline = rehearse(PLAN, coefficients(), readings_per_s=80)
    assert (outline.readings, outline.stages) == (3, ("daily check",))
    assert outline.duration_s < 20  # of it 5 s to change each load


def test_a_scale_without_coefficients_has_to_be_calibrated_first() -> None:
    run = Run(PLAN.steps)
    with pytest.raises(ProcedureError, match="calibrate it first"):
        run.answer(b"")
