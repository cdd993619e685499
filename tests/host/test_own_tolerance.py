"""The user's own table of limits: its two rules, and what is wrong with a file."""

from fractions import Fraction

import pytest

from scalewright.errors import InputError
from scalewright.own_tolerance import read_own_tolerance
from scalewright.tolerances import AccuracyClass


def own(tmp_path, text):
    path = tmp_path / "limits.csv"
    path.write_text(text, encoding="utf-8")
    return read_own_tolerance(path)


def test_steps_hold_up_to_and_including_their_load_as_in_r_76(tmp_path):
    """OIML R 76-1:2006, table 6, class III, e = 1 g, written as a table."""
    table = own(tmp_path, "load_g,limit_g\n500,0.5\n2000,1.0\n10000,1.5\n")
    r76 = AccuracyClass("III", Fraction(1))
    for load_g in (0, 1, Fraction(4999, 10), 500, Fraction(5001, 10), 2000, 2001, 10_000, -500):
        assert table.permissible_error_g(Fraction(load_g)) == r76.permissible_error_g(Fraction(load_g))


def test_a_line_runs_straight_between_its_loads(tmp_path):
    table = own(tmp_path, '# rule = "line"\nload_g,limit_g\n100,1\n300,2\n700,10\n')
    limits = {0: 1, 100: 1, 200: Fraction(3, 2), 300: 2, 400: 4, 700: 10}
    assert {load_g: table.permissible_error_g(Fraction(load_g)) for load_g in limits} == limits


def test_limits_are_the_same_in_service(tmp_path):
    table = own(tmp_path, "load_g,limit_g\n500,0.3\n")
    assert table.permissible_error_g(Fraction(500), in_service=True) == Fraction(3, 10)


def test_above_the_last_load_there_is_no_limit(tmp_path):
    table = own(tmp_path, "load_g,limit_g\n500,0.3\n")
    with pytest.raises(InputError, match=r"limits.csv: 501 g is above the last load, 500 g"):
        table.permissible_error_g(Fraction(501))


def test_its_source_names_file_and_rule(tmp_path):
    assert own(tmp_path, "load_g,limit_g\n500,0.3\n").source == "own table limits.csv, rule step"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("load_g\n5\n", "line 1, column limit_g: missing from the header"),
        ("load_g,limit_g\n5,1\n5,2\n", "line 3, column load_g: 5 found; loads ascend"),
        ("load_g,limit_g\n-5,1\n", "line 2, column load_g: -5 found; expected a load from 0"),
        ("load_g,limit_g\n5,0\n", "line 2, column limit_g: 0 found; expected a limit above 0"),
        ("load_g,limit_g\n5,nan\n", "line 2, column limit_g: 'nan' found; expected a finite number"),
        ('# rule = "curve"\nload_g,limit_g\n5,1\n', "line 1: rule = 'curve' found; expected"),
        ("# rule = 3\nload_g,limit_g\n5,1\n", "line 1: rule = 3 found; expected"),
    ],
)
def test_a_bad_table_is_named_by_line_and_column(tmp_path, text, message):
    with pytest.raises(InputError) as error:
        own(tmp_path, text)
    assert message in str(error.value)
