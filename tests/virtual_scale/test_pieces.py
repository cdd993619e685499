"""A piece is what it really is wherever its mark is named, and nowhere else."""

import pytest

from virtual_scale.pieces import Pieces


@pytest.fixture
def pieces():
    pieces = Pieces()
    pieces.set_error("500", -0.8)
    pieces.set_error("200*", 0.05)
    return pieces


@pytest.mark.parametrize(
    ("marks", "really_g"),
    [
        ("500", 499.2),
        ("500.0", 499.2),
        ("5E2", 499.2),
        ("5e+2+200", 699.2),
        ("500+200+200*", 899.25),
        (" 200* + 200 ", 400.05),
        ("200**", 200),
        ("500*", 500),
        ("500+500", 998.4),
        ("700", 700),
        ("+500", 499.2),
        ("-100", -100),
        ("0", 0),
    ],
)
def test_a_sum_of_pieces_is_what_they_really_are(pieces, marks, really_g):
    assert pieces.mass_g(marks) == pytest.approx(really_g, abs=1e-9)


@pytest.mark.parametrize("marks", ["", "500+", "+", "heavy", "*", "500*1", "500 200", "2*00"])
def test_what_is_no_sum_of_pieces_is_refused(pieces, marks):
    with pytest.raises(ValueError):
        pieces.mass_g(marks)


@pytest.mark.parametrize("mark", ["", "*", "0", "-5", "nan", "x"])
def test_what_is_no_mark_gets_no_error(mark):
    pieces = Pieces()
    with pytest.raises(ValueError):
        pieces.set_error(mark, 1.0)
    assert pieces.wrong() == []


def test_the_pieces_that_are_wrong_are_told_in_order_until_they_are_right_again(pieces):
    assert pieces.wrong() == [("200*", 0.05), ("500", -0.8)]
    pieces.set_error("500", 0.0)
    assert pieces.wrong() == [("200*", 0.05)]
    assert pieces.mass_g("500") == 500
