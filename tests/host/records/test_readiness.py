"""A job is held to the registers as they are, and to what the journal last saw of the device."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from scalewright.composition import compose
from scalewright.errors import InputError
from scalewright.plain import plain
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.job import jobs_of
from scalewright.procedures.requests import Load
from scalewright.records.journal import Journal
from scalewright.records.readiness import (
    check_registered_instruments,
    check_registered_masses,
    check_registered_scale,
)
from scalewright.records.registers import add, put
from tests.host.test_equipment import BOX, PLOVER, ROOM, SEEN

TODAY = date(2026, 11, 25)
NOW = replace(SEEN, at="2026-11-25T16:00:00.000000Z", d_g=Decimal(1))


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal(tmp_path / "records.sqlite") as journal:
        for item in (PLOVER, BOX, ROOM):
            add(journal, [item], "AB", "new")
        yield journal


def test_a_scale_is_as_it_was_until_somebody_adjusts_it_or_a_job_has_seen_it_adjusted(journal: Journal) -> None:
    adjusted = replace(NOW, events=4, coefficients="11111111")
    assert check_registered_scale(journal, "PLOVER-3", NOW, TODAY) == []
    (found,) = check_registered_scale(journal, "PLOVER-3", adjusted, TODAY)
    assert found.guard == "scale adjusted"
    assert "event 4 and coefficients 11111111; on 2026-06-01 it was event 3 and 0BADCAFE" in found.reason
    journal.append("job.ended", "job-1", {"device": {**plain(adjusted), "is": "Identity", "sealed": None}})
    assert check_registered_scale(journal, "PLOVER-3", adjusted, TODAY) == []


def test_an_overdue_scale_may_be_calibrated_and_nothing_else(journal: Journal) -> None:
    later = date(2027, 3, 1)
    (found,) = check_registered_scale(journal, "PLOVER-3", NOW, later)
    assert str(found) == "scale overdue: scale PLOVER-3 was due on 2027-02-28, today is 2027-03-01"
    assert check_registered_scale(journal, "PLOVER-3", NOW, later, calibrates=True) == []
    job = f"{jobs_of('PLOVER-3', Calibration)}1"
    journal.append("job.ended", job, {"passed": True, "result": [{"is": "Step"}]}, datetime(2027, 3, 1, 9, tzinfo=UTC))
    assert check_registered_scale(journal, "PLOVER-3", NOW, later) == []


def test_each_load_is_held_to_the_set_it_is_made_of(journal: Journal) -> None:
    worn = tuple(replace(piece, name=f"{piece.name} g", drift_g=Decimal(9)) for piece in BOX.pieces)
    coarse = replace(BOX, key="BOX-2", pieces=worn)
    put(journal, coarse, "AB", "new")
    fine, rough = compose(BOX, Decimal(200)), compose(coarse, Decimal(200))
    sets = "BOX-F1", "BOX-2"
    assert check_registered_masses(journal, sets, [fine, Load(Decimal(70))], PLOVER.limits, TODAY) == []
    found = check_registered_masses(journal, sets, [fine, rough], PLOVER.limits, TODAY)
    assert [objection.guard for objection in found] == ["mass too uncertain"]
    assert "(200 g)" in found[0].reason
    overdue = check_registered_masses(journal, sets, [], PLOVER.limits, date(2027, 3, 3))
    assert [objection.guard for objection in overdue] == ["mass overdue"] * 2
    with pytest.raises(InputError, match="pieces 200 g are in none of: BOX-F1"):
        check_registered_masses(journal, ["BOX-F1"], [rough], PLOVER.limits, TODAY)


def test_instruments_are_held_to_their_due_dates(journal: Journal) -> None:
    assert check_registered_instruments(journal, ["ROOM-T"], TODAY) == []
    (found,) = check_registered_instruments(journal, ["ROOM-T"], date(2027, 3, 3))
    assert str(found) == "instrument overdue: thermometer ROOM-T was due on 2027-03-02, today is 2027-03-03"
