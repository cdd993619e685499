"""Registers on a real journal: what holds now, what held before, and how a mass and a device were then."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scalewright.equipment import Certificate, Instrument, MassSet, Piece, RegisteredScale
from scalewright.errors import InputError
from scalewright.link.scale import Identity
from scalewright.plain import plain
from scalewright.records.journal import Addition, Journal
from scalewright.records.registers import (
    add,
    change,
    find,
    history,
    items,
    last_seen,
    put,
    retire,
    values_of_piece,
)
from tests.host.test_equipment import BOX, CERTIFICATE, PLOVER, ROOM, SEEN


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with Journal(tmp_path / "records.sqlite") as journal:
        yield journal


def at(day: int) -> datetime:
    return datetime(2026, 7, day, 12, 0, tzinfo=UTC)


def test_every_register_gives_back_what_was_put_in(journal: Journal) -> None:
    for item in (PLOVER, BOX, ROOM):
        put(journal, item, "ab", "new")
        assert repr(find(journal, type(item), item.key)) == repr(item)
    assert (items(journal, RegisteredScale), items(journal, MassSet)) == ({"PLOVER-3": PLOVER}, {"BOX-F1": BOX})
    assert items(journal, Instrument) == {"ROOM-T": ROOM}
    assert journal.verify().holds


def test_the_last_entry_holds_and_the_earlier_ones_stay(journal: Journal) -> None:
    put(journal, PLOVER, "ab", "new", at(1))
    moved = replace(PLOVER, place="bench 2")
    change(journal, [moved], "CD", "moved")
    assert find(journal, RegisteredScale, "PLOVER-3") == moved
    told = [(each.item.place, each.by, each.why) for each in history(journal, RegisteredScale, "PLOVER-3")]
    assert told == [("", "AB", "new"), ("bench 2", "CD", "moved")]
    assert history(journal, RegisteredScale, "PLOVER-3")[0].at == "2026-07-01T12:00:00.000000Z"


def test_what_is_retired_is_out_of_use_but_not_lost(journal: Journal) -> None:
    add(journal, [ROOM, replace(ROOM, key="ROOM-2")], "AB", "new")
    retire(journal, Instrument, "ROOM-T", "AB", "broken")
    assert list(items(journal, Instrument)) == ["ROOM-2"]
    assert list(items(journal, Instrument, retired=True)) == ["ROOM-2", "ROOM-T"]
    assert find(journal, Instrument, "ROOM-T") == replace(ROOM, state="retired")
    with pytest.raises(InputError, match="instrument ROOM-T is registered already"):
        add(journal, [ROOM], "AB", "another one under the same key")
    change(journal, [ROOM], "AB", "mended")
    assert list(items(journal, Instrument)) == ["ROOM-2", "ROOM-T"]


def test_the_registers_do_not_share_keys(journal: Journal) -> None:
    add(journal, [replace(BOX, key="ONE")], "AB", "new")
    add(journal, [replace(ROOM, key="ONE")], "AB", "new")
    assert isinstance(find(journal, MassSet, "ONE"), MassSet)


@pytest.mark.parametrize(
    ("do", "complaint"),
    [
        (lambda journal: find(journal, MassSet, "BOX"), "mass set 'BOX' is not registered; expected one of: BOX-F1"),
        (lambda journal: find(journal, Instrument, "X"), "expected one of: none yet"),
        (lambda journal: change(journal, [BOX, ROOM], "AB", "x"), "instrument 'ROOM-T' is not registered"),
        (lambda journal: add(journal, [PLOVER, BOX], "AB", "x"), "mass set BOX-F1 is registered already"),
        (lambda journal: add(journal, [ROOM, ROOM], "AB", "x"), "instrument ROOM-T is registered already"),
        (lambda journal: put(journal, BOX, "Ada B.", "x"), "initials 'Ada B.'; expected 2 to 4 letters"),
        (lambda journal: put(journal, BOX, "AB", "a\nb"), "why 'a.nb'; expected a line of text"),
        (lambda journal: put(journal, BOX, "AB", " "), "why ' '; expected a line of text"),
    ],
)
def test_what_is_refused_leaves_the_journal_as_it_was(journal: Journal, do: Any, complaint: str) -> None:
    put(journal, BOX, "AB", "new")
    with pytest.raises(InputError, match=complaint):
        do(journal)
    assert journal.head().seq == 1


lines = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=50)
nasty = st.sampled_from(["'; DROP TABLE journal; --", "=cmd|'/c x'!A0", "</script><b>", "{{7*7}}", "\\write18{x}"])


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(place=lines | nasty, why=lines | nasty)
def test_what_a_person_writes_is_kept_verbatim(journal: Journal, place: str, why: str) -> None:
    put(journal, replace(PLOVER, place=place), "AB", why)
    last = history(journal, RegisteredScale, PLOVER.key)[-1]
    assert (last.item.place, last.why) == (place, why)


def calibrated(value: str, u: str, k: str = "2", day: date = CERTIFICATE.on, number: str = "K-1") -> MassSet:
    piece = Piece("200", Decimal(200), Decimal(value), Decimal(u), Decimal(k))
    return MassSet("BOX", (piece, Piece("100", Decimal(100))), Certificate(number, "invented laboratory", day))


def test_each_calibration_of_a_piece_is_compared_with_the_one_before(journal: Journal) -> None:
    """E_n by hand: 0.3 mg / sqrt(0.3**2 + 0.4**2) mg = 0.6; then U = 0.6 mg with k = 3 is 0.4 mg with k = 2."""
    for masses in (
        calibrated("200.0000", "0.0003"),
        replace(calibrated("200.0000", "0.0003"), serial_number="7001"),  # no calibration: another change
        calibrated("200.0003", "0.0004", day=date(2027, 3, 1), number="K-2"),
        calibrated("199.9995", "0.0006", "3", day=date(2028, 3, 1), number="K-3"),
    ):
        put(journal, masses, "AB", "calibrated")
    values = values_of_piece(journal, "BOX", "200")
    assert [(value.certificate, value.change_g) for value in values] == [
        ("K-1", None),
        ("K-2", Decimal("0.0003")),
        ("K-3", Decimal("-0.0008")),
    ]
    assert [value.e_n for value in values] == [None, pytest.approx(0.6), pytest.approx(-0.8 / 0.32**0.5)]


def test_a_piece_without_a_value_has_no_history_and_one_that_is_not_there_is_an_error(journal: Journal) -> None:
    put(journal, calibrated("200", "0.0003"), "AB", "new")
    assert values_of_piece(journal, "BOX", "100") == []
    with pytest.raises(InputError, match="mass set BOX has no piece '50'; expected one of 200, 100"):
        values_of_piece(journal, "BOX", "50")


def end_job(journal: Journal, day: int, identity: Identity) -> None:
    journal.append("job.ended", f"job-{day}", {"result": None, "device": plain(identity)}, at(day))


def test_the_device_was_last_seen_for_the_register_or_at_the_end_of_a_job_whichever_is_later(journal: Journal) -> None:
    assert last_seen(journal, replace(PLOVER, seen=None)) is None
    assert last_seen(journal, PLOVER) == SEEN
    end_job(journal, 2, Identity("virtual", "PLOVER", "0.1.0", "11111111", 5))
    end_job(journal, 3, Identity("virtual", "WREN", "0.1.0", "22222222", 9))  # another scale
    journal.append("job.ended", "job-4", {"result": None}, at(4))  # one that says nothing of the device
    seen = last_seen(journal, PLOVER)
    assert seen is not None
    assert (seen.events, seen.coefficients, seen.sealed) == (5, "11111111", None)
    assert seen.at == "2026-07-02T12:00:00.000000Z"
    looked_at = replace(SEEN, at="2026-07-05T08:00:00.000000Z", events=6)
    assert last_seen(journal, replace(PLOVER, seen=looked_at)) == looked_at


def test_the_last_sight_of_a_device_is_found_however_much_was_done_since(journal: Journal) -> None:
    quoted = replace(PLOVER, serial_number='P"\\\u00fc', seen=None)
    end_job(journal, 1, Identity("virtual", quoted.serial_number, "0.1.0", "11111111", 5))
    others = [Addition("job.ended", f"n-{n}", {"device": {"serial_number": "WREN"}}, at(2)) for n in range(250)]
    journal.append_all(others)
    seen = last_seen(journal, quoted)
    assert seen is not None
    assert (seen.serial_number, seen.events) == (quoted.serial_number, 5)


def test_a_change_from_a_file_does_not_forget_the_device_unless_it_is_another_one(journal: Journal) -> None:
    put(journal, PLOVER, "AB", "new")
    change(journal, [replace(PLOVER, place="bench 2", seen=None)], "AB", "moved")
    assert find(journal, RegisteredScale, PLOVER.key).seen == SEEN
    change(journal, [replace(PLOVER, serial_number="WREN", seen=None)], "AB", "new board")
    assert find(journal, RegisteredScale, PLOVER.key).seen is None
