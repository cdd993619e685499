"""Each guard objects where it must and only there; what is set aside is set aside for a reason that is kept."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from scalewright.composition import compose, put_together
from scalewright.equipment import Certificate, DeviceState, Instrument, MassSet, Piece, RegisteredScale
from scalewright.errors import InputError, ProcedureError
from scalewright.guards import (
    GUARDS,
    Objection,
    check_device,
    check_instrument,
    check_loads,
    check_masses,
    check_scale,
    overridden,
)
from scalewright.own_tolerance import OwnTolerance
from scalewright.procedures.job import Override
from scalewright.tolerances import AccuracyClass
from tests.host.reference_tables import rows

TODAY = date(2026, 11, 25)
CERTIFICATE = Certificate("K-1", "invented mass laboratory", date(2026, 3, 2), due=date(2026, 12, 31))
III = AccuracyClass("III", Fraction(1))


def certified(name: str, nominal: str, u: str = "0.001", weight_class: str = "", drift: str = "0") -> Piece:
    return Piece(name, Decimal(nominal), Decimal(nominal), Decimal(u), Decimal(2), weight_class, Decimal(drift))


BOX = MassSet("BOX", (certified("500", "500"), certified("200", "200")), CERTIFICATE)
ROOM = Instrument("ROOM-T", "thermometer", Decimal("0.3"), certificate=CERTIFICATE)
SEEN = DeviceState("2026-06-01T08:00:00.000000Z", "rp2", "PLOVER", "0.1.0", "0BADCAFE", 3, True)
NOW = replace(SEEN, at="2026-11-25T16:00:00.000000Z", max_g=Decimal(3000), d_g=Decimal("1.0"))
PLOVER = RegisteredScale(
    "PLOVER-3", "rp2", "PLOVER", Decimal(3000), Decimal(1), III, interval_months=12, calibrated=date(2025, 11, 25)
)


def names(objections: Sequence[Objection]) -> list[str]:
    return [objection.guard for objection in objections]


def of_class(name: str, *grams: str) -> MassSet:
    return MassSet("BOX", tuple(Piece(g, Decimal(g), weight_class=name) for g in grams), CERTIFICATE)


@pytest.mark.parametrize(
    ("check", "item", "changed", "guards"),
    [
        (check_masses, BOX, {}, []),
        (check_masses, BOX, {"certificate": replace(CERTIFICATE, due=TODAY)}, []),
        (check_masses, BOX, {"certificate": replace(CERTIFICATE, due=None)}, []),
        (check_masses, BOX, {"certificate": replace(CERTIFICATE, due=date(2026, 11, 24))}, ["mass overdue"]),
        (check_masses, BOX, {"certificate": None}, ["mass without certificate"]),
        (check_masses, BOX, {"state": "retired"}, ["mass retired"]),
        (check_instrument, ROOM, {}, []),
        (check_instrument, ROOM, {"certificate": replace(CERTIFICATE, due=date(2026, 11, 24))}, ["instrument overdue"]),
        (check_instrument, ROOM, {"certificate": None}, ["instrument without certificate"]),
        (check_instrument, ROOM, {"state": "retired"}, ["instrument retired"]),
    ],
)
def test_masses_and_instruments_are_held_to_their_dates(
    check: Any, item: Any, changed: dict[str, Any], guards: list[str]
) -> None:
    assert names(check(replace(item, **changed), TODAY)) == guards


@pytest.mark.parametrize(
    ("due", "state", "guards"),
    [
        (TODAY, "in use", []),
        (None, "in use", []),
        (date(2026, 11, 24), "in use", ["scale overdue"]),
        (TODAY, "retired", ["scale retired"]),
    ],
)
def test_a_scale_is_held_to_its_due_date(due: date | None, state: str, guards: list[str]) -> None:
    assert names(check_scale(replace(PLOVER, state=state), due, TODAY)) == guards


def test_where_a_due_date_comes_from_is_said() -> None:
    (found,) = check_scale(PLOVER, date(2026, 11, 24), TODAY, "its last calibration failed")
    assert found.reason == "scale PLOVER-3 was due on 2026-11-24, today is 2026-11-25: its last calibration failed"


@pytest.mark.parametrize(
    ("now", "guards"),
    [
        ({}, []),
        ({"firmware": "0.2.0"}, []),
        ({"serial_number": "WREN", "events": 9}, ["another scale"]),
        ({"model": "esp32"}, ["another scale"]),
        ({"events": 4}, ["scale adjusted"]),
        ({"events": 2}, ["scale adjusted"]),
        ({"coefficients": "12345678"}, ["scale adjusted"]),
        ({"sealed": False}, ["seal opened"]),
        ({"sealed": False, "events": 4}, ["scale adjusted", "seal opened"]),
        ({"sealed": None}, []),
        ({"max_g": Decimal(6000)}, ["range differs"]),
        ({"d_g": Decimal("0.5")}, ["range differs"]),
        ({"max_g": None, "d_g": None}, []),
    ],
)
def test_the_device_is_held_to_what_was_last_seen_and_what_is_registered(now: Any, guards: list[str]) -> None:
    assert names(check_device(PLOVER, replace(NOW, **now), SEEN)) == guards


def test_a_device_that_was_never_seen_is_only_held_to_the_register() -> None:
    assert check_device(PLOVER, replace(NOW, events=77, sealed=False), None) == []
    assert names(check_device(PLOVER, replace(NOW, d_g=Decimal(2)), None)) == ["range differs"]


def test_a_job_that_saw_no_seal_leaves_it_as_registered() -> None:
    after_job = replace(SEEN, sealed=None)
    sealed, open_ = (replace(PLOVER, seen=replace(SEEN, sealed=sealed)) for sealed in (True, False))
    assert names(check_device(sealed, replace(NOW, sealed=False), after_job)) == ["seal opened"]
    assert check_device(open_, replace(NOW, sealed=False), after_job) == []


@pytest.mark.parametrize(
    ("pieces", "changed", "guards"),
    [
        ([certified("200", "200"), Piece("100", Decimal(100), weight_class="F1")], {}, ["mass beyond certificate"]),
        ([Piece("100", Decimal(100))], {}, ["mass beyond certificate"]),
        ([Piece("100", Decimal(100), weight_class="F1")], {}, []),  # a certificate of conformity has no values
        ([certified("200", "200")], {"up_to_g": Decimal(200)}, []),
        ([certified("200", "200"), certified("500", "500")], {"up_to_g": Decimal(200)}, ["mass beyond certificate"]),
    ],
)
def test_a_certificate_ends_with_its_pieces_and_its_range(pieces: Any, changed: Any, guards: list[str]) -> None:
    masses = MassSet("BOX", tuple(pieces), replace(CERTIFICATE, **changed))
    load = put_together(masses, [piece.name for piece in pieces])
    assert names(check_loads(masses, [load], III)) == guards


def test_only_the_pieces_that_are_used_are_looked_at() -> None:
    masses = MassSet("BOX", (certified("200", "200"), Piece("100", Decimal(100))), CERTIFICATE)
    assert check_loads(masses, [compose(masses, Decimal(0)), compose(masses, Decimal(200))], III) == []


@pytest.mark.parametrize(
    ("weight_class", "grams", "e_g", "is_too_coarse"),
    [
        # OIML R 111-1:2004, table 1, against a third of OIML R 76-1:2006, table 6 (3.7.1). Class III, e = 1 g:
        ("M1", ["500"], "1", False),  # 25 mg of 500 mg
        ("M3", ["500"], "1", True),  # 250 mg
        ("M2", ["500"], "1", False),  # 80 mg, a third is 166.7 mg
        ("M2", ["2000", "1000"], "1", False),  # 300 + 160 = 460 mg, a third of 1.5 g is 500 mg
        ("M3", ["2000", "1000"], "1", True),  # 1500 mg
        # Class II, e = 0.1 g: half an e up to 500 g
        ("M1", ["500"], "0.1", True),  # 25 mg of 50 mg, a third is 16.7 mg
        ("F2", ["500"], "0.1", False),  # 8 mg
        ("F2", ["1000"], "0.1", False),  # 16 mg of 100 mg
    ],
)
def test_the_one_third_rule(weight_class: str, grams: list[str], e_g: str, is_too_coarse: bool) -> None:
    masses = of_class(weight_class, *grams)
    limits = AccuracyClass("III" if e_g == "1" else "II", Fraction(e_g))
    found = check_loads(masses, [put_together(masses, grams)], limits)
    assert names(found) == ["mass too coarse"] * is_too_coarse


def limit(load_g: Fraction | int, limit_g: Fraction | str) -> OwnTolerance:
    return OwnTolerance("limits.csv", "step", ((Fraction(load_g), Fraction(limit_g)),))


@pytest.mark.parametrize("row", rows("oiml_r111_mpe.csv"), ids=lambda row: row["nominal"])
def test_the_rule_turns_at_exactly_a_third_for_every_weight_there_is(row: dict[str, str]) -> None:
    """The reference table is a transcription of OIML R 111-1:2004, table 1, by other hands than the product's."""
    nominal_g, least = Fraction(row["nominal_g"]), Fraction(1, 10**12)
    for weight_class in ("E1", "E2", "F1", "F2", "M1", "M1_2", "M2", "M2_3", "M3"):
        if row[f"{weight_class}_mg"]:
            error_g = Fraction(row[f"{weight_class}_mg"]) / 1000
            masses = of_class(weight_class, f"{float(nominal_g):.10f}".rstrip("0").rstrip("."))
            loads = [put_together(masses, [masses.pieces[0].name])]
            assert check_loads(masses, loads, limit(nominal_g, 3 * error_g)) == []
            assert names(check_loads(masses, loads, limit(nominal_g, 3 * error_g - least))) == ["mass too coarse"]


@pytest.mark.parametrize(
    ("piece", "guards"),
    [
        (certified("1000", "1000", u="0.010", weight_class="M1"), ["mass too coarse"]),  # 50 mg, whatever its value
        (certified("1000", "1000", u="0.010", weight_class="E2"), []),
        (certified("1000", "1000", u="0.010"), []),
        (certified("1000", "1000", u="0.020"), ["mass too coarse", "mass too uncertain"]),
        (certified("1000", "1000", u="0.020", weight_class="F1"), ["mass too uncertain"]),
        (certified("1000", "1000", u="0.010", drift="0.015"), ["mass too coarse", "mass too uncertain"]),
        (Piece("1000", Decimal(1000), weight_class="E1"), []),
    ],
)
def test_the_uncertainty_counts_where_the_value_is_used(piece: Piece, guards: list[str]) -> None:
    """Limit 50 mg, a third of it 16.7 mg. OIML R 76-1:2006, 3.7.1 (from memory): class E2 or better by uncertainty."""
    masses = MassSet("BOX", (piece,), CERTIFICATE)
    assert names(check_loads(masses, [put_together(masses, ["1000"])], limit(1000, "0.05"))) == guards


def test_the_worst_of_the_loads_is_named() -> None:
    masses = of_class("M3", "100", "200", "500", "1000")
    loads = [compose(masses, Decimal(g)) for g in (0, 100, 500, 700, 1000)]
    (found,) = check_loads(masses, loads, III)
    assert found.reason == (
        "at 500 g (500) the mass may be wrong by 0.25 g (OIML R 76-1:2006, 3.7.1); "
        "a third of the limit 0.5 g is 0.167 g; so at 3 of the loads"
    )
    assert check_loads(masses, loads, III, in_service=True) == []  # OIML R 76-1:2006, 3.5.2: twice the limits


def test_the_limit_is_that_of_the_nominal_load() -> None:
    """At 500 e the limit is 0.5 e, just above it 1 e (OIML R 76-1:2006, table 6); 500.01 g is meant for 500 g."""
    piece = Piece("500", Decimal(500), Decimal("500.01"), Decimal("0.2"), Decimal(2))
    masses = MassSet("BOX", (piece,), CERTIFICATE)
    assert names(check_loads(masses, [put_together(masses, ["500"])], III)) == ["mass too coarse", "mass too uncertain"]


OVERDUE = Objection("mass overdue", "mass set BOX was due on 2026-01-01, today is 2026-11-25", "have it calibrated")
ADJUSTED = Objection("scale adjusted", "scale PLOVER-3 shows event 4", "see who changed it")


def test_an_objection_without_a_reason_stops_the_work_and_is_named() -> None:
    with pytest.raises(ProcedureError, match=r"^scale adjusted: scale PLOVER-3 shows event 4") as raised:
        overridden([OVERDUE, ADJUSTED], {"mass overdue": "sent off on Monday"})
    assert raised.value.remedy == "see who changed it; or give a reason to go on, which is recorded"


def test_what_is_set_aside_is_kept_with_what_it_said_and_why() -> None:
    reasons = {"scale adjusted": " moved to bench 2, =1+1 <b> ", "mass overdue": "sent off on Monday"}
    assert overridden([OVERDUE, ADJUSTED], reasons) == (
        Override("mass overdue", OVERDUE.reason, "sent off on Monday"),
        Override("scale adjusted", ADJUSTED.reason, "moved to bench 2, =1+1 <b>"),
    )
    assert overridden([], reasons) == ()


@pytest.mark.parametrize("reason", ["", "  ", "a\nb", "a\x1b[2J", "\u202eeslaf"])
def test_a_reason_that_says_nothing_or_hides_something_is_refused(reason: str) -> None:
    with pytest.raises(InputError, match="expected a line of text"):
        overridden([OVERDUE], {"mass overdue": reason})


def test_a_guard_that_does_not_exist_cannot_be_set_aside() -> None:
    with pytest.raises(InputError, match="guard 'mass over due'; expected one of mass overdue, "):
        overridden([], {"mass over due": "typed badly"})


def test_every_guard_is_met_by_a_test_above() -> None:
    text = Path(__file__).read_text(encoding="utf-8")
    assert [guard for guard in GUARDS if f'["{guard}"]' not in text and f'"{guard}"]' not in text] == []
