"""What the registers hold is checked when it is made, and comes back from the journal's form as it was."""

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from scalewright.equipment import (
    Certificate,
    DeviceState,
    Instrument,
    MassSet,
    Piece,
    RegisteredScale,
    initials,
    line_of_text,
    months_later,
)
from scalewright.errors import InputError
from scalewright.handbook_44 import Handbook44Class
from scalewright.own_tolerance import OwnTolerance
from scalewright.plain import plain, revive
from scalewright.tolerances import AccuracyClass

# An invented bench: a seed store, its scale and its weights.
CERTIFICATE = Certificate("K-2026-014", "invented mass laboratory", date(2026, 3, 2), date(2027, 3, 2), Decimal(2000))
PIECES = (
    Piece("200", Decimal(200), Decimal("200.00031"), Decimal("0.00030"), weight_class="F1", drift_g=Decimal("0.0003")),
    Piece("200*", Decimal(200), Decimal("199.99988"), Decimal("0.00030"), weight_class="F1"),
    Piece("100", Decimal(100), weight_class="F1"),
)
BOX = MassSet("BOX-F1", PIECES, CERTIFICATE, "7001")
SEEN = DeviceState("2026-06-01T08:00:00.000000Z", "virtual", "PLOVER", "0.1.0", "0BADCAFE", 3, True, Decimal(3000))
PLOVER = RegisteredScale(
    "PLOVER-3",
    "virtual",
    "PLOVER",
    Decimal(3000),
    Decimal(1),
    AccuracyClass("III", Fraction(1)),
    Decimal(20),
    interval_months=12,
    calibrated=date(2026, 2, 28),
    seen=SEEN,
)
ROOM = Instrument("ROOM-T", "thermometer", Decimal("0.3"), Decimal(2), Decimal("-0.1"), CERTIFICATE)


@pytest.mark.parametrize(
    "item",
    [
        PLOVER,
        replace(PLOVER, limits=Handbook44Class("III L", Fraction(1)), seen=None),
        replace(PLOVER, limits=OwnTolerance("limits.csv", "step", ((Fraction(3000), Fraction(1, 3)),))),
        BOX,
        replace(BOX, certificate=None, correlation=Decimal("0.50")),
        ROOM,
    ],
    ids=lambda item: f"{item.key} {type(getattr(item, 'limits', None)).__name__}",
)
def test_an_item_comes_back_from_the_journals_form_as_it_was(item: Any) -> None:
    assert repr(revive(json.loads(json.dumps(plain(item))), type(item))) == repr(item)


@pytest.mark.parametrize(
    ("item", "changed", "complaint"),
    [
        (PLOVER, {"key": "PLOVER 3"}, "scale 'PLOVER 3'; expected a key of 1 to 40 letters"),
        (PLOVER, {"key": "../x"}, "expected a key"),
        (PLOVER, {"key": "\u03a9"}, "expected a key"),
        (PLOVER, {"key": "A" * 41}, "expected a key"),
        (PLOVER, {"serial_number": ""}, "scale PLOVER-3: serial_number ''; expected a line of text"),
        (PLOVER, {"place": "bench\n2"}, "scale PLOVER-3: place 'bench"),
        (PLOVER, {"place": "\u202e2 hcneb"}, "scale PLOVER-3: place"),  # would be shown backwards
        (PLOVER, {"max_g": Decimal("NaN")}, "max_g = NaN; expected a number from 1E-9"),
        (PLOVER, {"max_g": Decimal("1e99")}, "max_g = 1E.99; expected a number"),
        (PLOVER, {"d_g": Decimal(0)}, "d_g = 0; expected a number from 1E-9"),
        (PLOVER, {"d_g": Decimal(3000)}, "expected a d below Max"),
        (PLOVER, {"min_g": Decimal(3000)}, "Min = 3000 g; expected 0 or more, and below Max"),
        (PLOVER, {"pan": "oval"}, "pan 'oval'; expected one of rectangular, round, suspended"),
        (PLOVER, {"supports": 0}, "0 supports; expected 1 to 99"),
        (PLOVER, {"interval_months": 0}, "an interval of 0 months; expected 1 to 120"),
        (PLOVER, {"state": "lost"}, "state 'lost'; expected one of in use, retired"),
        (PLOVER, {"max_g": Decimal(10_001)}, "class III ends at 10000 e"),
        (BOX, {"pieces": ()}, "mass set BOX-F1: 0 pieces; expected 1 to 200"),
        (BOX, {"pieces": PIECES[:1] * 2}, "piece 200 twice; expected each marking once"),
        (BOX, {"correlation": Decimal(2)}, "correlation 2; expected 0 to 1"),
        (PIECES[0], {"name": "200+50"}, "expected its marking, a letter or digit first, no . or comma"),
        (PIECES[0], {"name": "=1"}, "expected its marking"),
        (PIECES[0], {"name": "2\x00"}, "piece '2.x00'; expected a line of text"),
        (PIECES[0], {"expanded_u_g": None}, "expected conventional mass and its uncertainty, or neither"),
        (PIECES[0], {"expanded_u_g": Decimal(0)}, "expanded_u_g = 0; expected a number from"),
        (PIECES[0], {"nominal_g": Decimal(20)}, "200.00031 g; expected within 10 % of 20 g"),
        (PIECES[0], {"weight_class": "F9"}, "weight class 'F9', expected one of E1"),
        (PIECES[0], {"nominal_g": Decimal(201)}, "no F1 weight of 201 g"),
        (CERTIFICATE, {"due": date(2026, 3, 2)}, "due on 2026-03-02; expected a day after 2026-03-02"),
        (CERTIFICATE, {"number": ""}, "certificate: number ''; expected a line of text"),
        (ROOM, {"kind": "clock"}, "kind 'clock'; expected one of thermometer, barometer, hygrometer"),
        (ROOM, {"correction": Decimal("inf")}, "correction = Infinity; expected a number within"),
    ],
)
def test_what_cannot_be_is_one_line_that_names_item_and_field(item: Any, changed: Any, complaint: str) -> None:
    with pytest.raises(InputError, match=complaint) as raised:
        replace(item, **changed)
    assert raised.value.message.isprintable()


@pytest.mark.parametrize(("text", "kept"), [("ab", "AB"), (" KLM ", "KLM"), ("\u00e5\u00f6", "\u00c5\u00d6")])
def test_people_are_initials(text: str, kept: str) -> None:
    assert initials(text) == kept


@pytest.mark.parametrize("text", ["", "A", "ABCDE", "A B", "A.B.", "A1", "\u00df\u00df\u00df"])
def test_nothing_more_of_a_person_is_kept(text: str) -> None:
    with pytest.raises(InputError, match="expected 2 to 4 letters"):
        initials(text)


@pytest.mark.parametrize("text", ["'; DROP TABLE journal; --", "<script>", "=cmd|x", "\\input{x}", "M\u00fchle \u2460"])
def test_a_line_of_text_is_kept_verbatim(text: str) -> None:
    assert line_of_text(text, "place") == text


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        ((2026, 2, 28), 12, (2027, 2, 28)),
        ((2026, 1, 31), 1, (2026, 2, 28)),
        ((2028, 2, 29), 12, (2029, 2, 28)),
        ((2026, 11, 30), 3, (2027, 2, 28)),
        ((2026, 12, 15), 120, (2036, 12, 15)),
    ],
)
def test_so_many_months_later_is_the_same_day_or_the_last_there_is(day: Any, months: int, expected: Any) -> None:
    assert months_later(date(*day), months) == date(*expected)


def test_a_scale_is_due_an_interval_after_its_last_calibration_whoever_knows_of_it() -> None:
    assert PLOVER.due() == PLOVER.due(date(2025, 1, 1)) == date(2027, 2, 28)
    assert PLOVER.due(date(2026, 8, 31)) == date(2027, 8, 31)
    assert replace(PLOVER, calibrated=None).due() is None
    assert replace(PLOVER, interval_months=None).due() is None


def test_e_is_that_of_the_class_and_d_where_there_is_none() -> None:
    assert replace(PLOVER, limits=AccuracyClass("II", Fraction(1, 10))).e_g == Decimal("0.1")
    assert replace(PLOVER, limits=Handbook44Class("III", Fraction(2))).e_g == 1


def test_the_uncertainty_of_a_piece_holds_its_drift() -> None:
    """U / k = 0.15 mg and 0.3 mg / sqrt 3 = 0.173205 mg: their root sum of squares is 0.229129 mg, by hand."""
    assert PIECES[0].u_g == Decimal("0.000229129")
    assert PIECES[1].u_g == Decimal("0.00015")


def test_a_piece_without_a_value_is_as_uncertain_as_its_class() -> None:
    """OIML R 111-1:2004, table 1: F1, 100 g, 0.5 mg. EURAMET cg-18 v4.0, 7.1.2 (from memory): over sqrt 3."""
    assert (PIECES[2].mass_g, PIECES[2].u_g) == (100, Decimal("0.000288675"))
    assert replace(PIECES[2], weight_class="").u_g is None


def test_a_reading_is_corrected_by_what_is_added() -> None:
    assert (ROOM.corrected(Decimal("21.4")), ROOM.u, ROOM.unit) == (Decimal("21.3"), Decimal("0.15"), "\u00b0C")
