"""Register items as files: read back as they were, harmless in a spreadsheet, and every fault named where it is."""

import csv
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import scalewright
from scalewright.equipment import MassSet
from scalewright.errors import InputError
from scalewright.handbook_44 import Handbook44Class
from scalewright.register_fields import instrument_of, mass_set_of, scale_of
from scalewright.register_files import (
    read_instruments,
    read_mass_set,
    read_scales,
    render_instruments,
    render_mass_set,
    render_scales,
)
from scalewright.tolerances import AccuracyClass
from tests.host.test_equipment import BOX, PLOVER, ROOM

EXAMPLES = Path(scalewright.__file__).with_name("examples")
BOX_FILE = """# key = "BOX-F1"
# certificate = "K-2026-014"
# issued_by = "invented mass laboratory"
# certified = 2026-03-02
# due = 2027-03-02
name,nominal_g,mass_g,expanded_u_g,class
200,200,200.000310,0.00030,F1
200*,200,199.99988,0.00030,F1
100,100,,,F1
"""
SCALES_FILE = "key,model,serial_number,max_g,d_g,accuracy_class\nPLOVER-3,virtual,PLOVER,3000,1,III\n"


def formulas(text: str) -> list[str]:
    """Cells that a spreadsheet would run, whatever it takes for a separator."""
    rows = (row for delimiter in ",;\t" for row in csv.reader(text.splitlines(), delimiter=delimiter))
    return [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@", "\uff1d"))]


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_a_mass_set_is_read_with_every_digit(tmp_path: Path) -> None:
    masses = read_mass_set(write(tmp_path / "box.csv", BOX_FILE))
    assert masses.certificate is not None
    assert (masses.key, masses.certificate.number, masses.due) == ("BOX-F1", "K-2026-014", date(2027, 3, 2))
    assert str(masses.pieces[0].conventional_mass_g) == "200.000310"
    assert (masses.pieces[2].conventional_mass_g, masses.pieces[2].weight_class) == (None, "F1")


def test_a_standard_uncertainty_may_stand_in_place_of_u_and_k(tmp_path: Path) -> None:
    file = write(tmp_path / "box.csv", '# key = "BOX"\nname,nominal_g,mass_g,u_mass_g\n200,200,200.0001,0.00015\n')
    (piece,) = read_mass_set(file).pieces
    assert (piece.expanded_u_g, piece.k, piece.u_g) == (Decimal("0.00015"), 1, Decimal("0.00015"))


def test_a_scale_takes_e_and_min_from_its_division_and_class(tmp_path: Path) -> None:
    """OIML R 76-1:2006, table 3: Min of class III is 20 e."""
    (scale,) = read_scales(write(tmp_path / "scales.csv", SCALES_FILE))
    assert (scale.limits, scale.e_g, scale.min_g) == (AccuracyClass("III", Fraction(1)), 1, 20)


def test_limits_may_come_from_a_table_of_ones_own(tmp_path: Path) -> None:
    limits = write(tmp_path / "limits.csv", "load_g,limit_g\n3000,1.5\n")
    text = f"key,model,serial_number,max_g,d_g,tolerance\nX,m,1,3000,1,{limits}\n"
    (scale,) = read_scales(write(tmp_path / "scales.csv", text))
    assert scale.limits.permissible_error_g(Fraction(3000)) == Fraction(3, 2)
    assert scale.limits.source == "own table limits.csv, rule step"


printable = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=30)
RISKY = ["=1+1", "+1", "-1", "@SUM(A1)", "'=1", "''=1", "\uff1d1", "x;=1;y", ";;=1", ";'=1,-2", 'a,=1,"b']
risky = st.sampled_from(RISKY) | st.text("'=;,a-", min_size=1, max_size=8)
texts = printable | risky | st.just("'t Hof")


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(place=texts, maker=texts)
def test_scales_and_instruments_come_back_from_their_files(tmp_path: Path, place: str, maker: str) -> None:
    scale = replace(PLOVER, seen=None, place=place, maker=maker)
    other = replace(scale, key="X", limits=Handbook44Class("III", Fraction(1)), calibrated=None, pan="suspended")
    assert read_scales(write(tmp_path / "s.csv", render_scales([scale, other]))) == [scale, other]
    assert ROOM.certificate is not None
    certificate = replace(ROOM.certificate, issued_by=maker, up_to_g=None)
    room = replace(ROOM, place=place, certificate=certificate)
    assert read_instruments(write(tmp_path / "i.csv", render_instruments([room]))) == [room]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=texts)
def test_a_mass_set_comes_back_from_its_file_and_no_cell_of_it_is_a_formula(tmp_path: Path, text: str) -> None:
    assert BOX.certificate is not None
    masses = replace(BOX, serial_number=text, certificate=replace(BOX.certificate, issued_by=text))
    rendered = render_mass_set(masses)
    assert repr(read_mass_set(write(tmp_path / "m.csv", rendered))) == repr(masses)
    assert formulas(rendered) == []


@given(text=risky)
def test_no_text_of_a_scale_is_a_formula_in_a_spreadsheet(text: str) -> None:
    rendered = render_scales([replace(PLOVER, maker=text, place=text, model=text, serial_number=text, seen=None)])
    assert formulas(rendered) == []


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("200.000310", "heavy", r"box.csv, line 7, column mass_g: 'heavy' found; expected a finite number"),
        ("200.000310", "20.00031", r"box.csv, line 7: piece 200: 20.00031 g; expected within 10 % of 200 g"),
        ("0.00030,F1\n200*", ",F1\n200*", r"box.csv, line 7: piece 200: expected conventional mass and its unc"),
        ("200*", "200", "box.csv: mass set BOX-F1: piece 200 twice"),
        ("F1\n100", "F9\n100", "box.csv, line 8: weight class 'F9', expected one of E1"),
        ("2027-03-02", "2027-02-30", r"box.csv, line 5: \"?.*2027-02-30"),
        ("2027-03-02", '"soon"', r"box.csv, line 5: 'soon' found; expected a date such as 2026-03-02"),
        ('# key = "BOX-F1"\n', "", "box.csv: key is missing"),
        ("# due", "# expires", r"box.csv, line 5: expires = .* found; expected one of key, serial_number, certificate"),
        (",class", ",klass", r"box.csv, line 7, column klass: no such column; expected of name, nominal_g"),
        ('# issued_by = "invented mass laboratory"\n', "", "box.csv: issued_by is missing; expected of a certificate"),
        ("expanded_u_g,class", "u_mass_g,k", "box.csv, line 7, column u_mass_g: beside expanded_u_g or k"),
        ("invented", "in\\nvented", r"box.csv: certificate: issued_by 'in.nvented mass"),
    ],
)
def test_a_fault_in_a_mass_set_is_one_line_that_says_where(tmp_path: Path, old: str, new: str, complaint: str) -> None:
    assert BOX_FILE.count(old) == 1
    with pytest.raises(InputError, match=complaint) as raised:
        read_mass_set(write(tmp_path / "box.csv", BOX_FILE.replace(old, new)))
    assert raised.value.message.isprintable()


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("3000", "3 kg", "scales.csv, line 2, column max_g: '3 kg' found; expected a finite number"),
        ("III", "", "scales.csv, line 2: no limits found; expected one of accuracy_class, handbook_44_class, tol"),
        ("III", "V", "scales.csv, line 2: accuracy class 'V', expected one of I, II, III, IIII"),
        ("PLOVER,", ",", "scales.csv, line 2: serial_number is missing; expected --serial-number"),
        ("PLOVER-3", "PLOVER 3", "scales.csv, line 2: scale 'PLOVER 3'; expected a key"),
        (",accuracy_class", ",class", "scales.csv, line 2, column class: no such column"),
        ("model,", "", "scales.csv, line 1, column model: missing from the header"),
    ],
)
def test_a_fault_in_a_scale_is_one_line_that_says_where(tmp_path: Path, old: str, new: str, complaint: str) -> None:
    with pytest.raises(InputError, match=complaint):
        read_scales(write(tmp_path / "scales.csv", SCALES_FILE.replace(old, new, 1)))


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"place": "bench 2"}, {"place": "bench 2"}),
        ({"d_g": Decimal(2)}, {"d_g": Decimal(2), "limits": AccuracyClass("III", Fraction(2))}),
        ({"e_g": Decimal(2)}, {"limits": AccuracyClass("III", Fraction(2))}),
        ({"handbook_44_class": "III"}, {"limits": Handbook44Class("III", Fraction(1))}),
        ({"serial_number": "WREN"}, {"serial_number": "WREN", "seen": None}),
        ({"interval_months": None}, {"interval_months": None}),
    ],
)
def test_a_change_keeps_what_is_not_given(values: Any, expected: Any) -> None:
    assert scale_of(values, PLOVER) == replace(PLOVER, **expected)


def test_a_certificate_keeps_its_day_only_as_long_as_it_is_the_same_one() -> None:
    later = {"due": date(2028, 3, 2)}
    assert mass_set_of(later, before=BOX).due == date(2028, 3, 2)
    with pytest.raises(InputError, match="issued_by is missing; expected of a certificate"):
        mass_set_of({"certificate": "K-2027-001", **later}, before=BOX)
    assert instrument_of({"certificate": None}, ROOM).certificate is None
    assert isinstance(mass_set_of({}, before=BOX), MassSet)


def test_the_examples_are_what_they_say() -> None:
    scales, masses = read_scales(EXAMPLES / "register_scales.csv"), read_mass_set(EXAMPLES / "register_masses.csv")
    assert [(scale.key, scale.limits.objections(Fraction(scale.max_g))) for scale in scales] == [
        ("PLOVER-3", []),
        ("WREN-600", []),
        ("HERON-60", []),
    ]
    assert len(read_instruments(EXAMPLES / "register_instruments.csv")) == 3
    for piece in masses.pieces:  # OIML R 111-1:2004, 5.3.1 (from memory): U at most a third of the limit
        assert piece.class_error_g is not None
        assert piece.expanded_u_g is not None
        assert 3 * Fraction(piece.expanded_u_g) <= piece.class_error_g
        assert abs(piece.mass_g - piece.nominal_g) + piece.expanded_u_g <= piece.class_error_g  # 5.3.2
