"""The chart in a terminal: what stands where is true, and it fits."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.plots.chart import Chart, Series
from scalewright.plots.text import COLUMNS, render_text

FLOATS = st.floats(-1e6, 1e6).map(lambda x: round(x, 3))


def chart(*series: Series, limits: tuple[float, ...] = ()) -> Chart:
    return Chart("Errors", "load / g", "error / g", series, limits)


@settings(max_examples=40)
@given(st.lists(st.tuples(FLOATS, FLOATS), min_size=1, max_size=50), st.booleans(), st.booleans(), st.lists(FLOATS))
def test_any_points_fit_80_columns_and_ascii_where_asked(points, is_line, is_ascii, limits) -> None:
    x, y = zip(*points, strict=True)
    text = render_text(chart(Series("errors", x, y, is_line), limits=tuple(limits)), is_ascii=is_ascii)
    assert max(map(len, text.split("\n"))) <= COLUMNS and len(text.split("\n")) <= 26
    assert text.isascii() or not is_ascii


def test_points_stand_on_the_row_and_column_of_their_tick() -> None:
    lines = render_text(chart(Series("a", [0, 40, 100], [-1, 0, 1])), is_ascii=True).split("\n")
    rows = {line.split("+")[0].strip(): line for line in lines if "+" in line}
    numbers = next(line for line in lines if line.split()[:1] == ["0"] and "100" in line)
    for x, y in (("0", "-1.0"), ("40", "0.0"), ("100", "1.0")):
        column = rows[y].index("o")
        start = f" {numbers} ".index(f" {x} ")
        assert start <= column <= start + len(x), (x, y)


def test_limits_and_zero_are_lines_across_and_points_lie_on_top() -> None:
    text = render_text(chart(Series("a", [0, 1], [0, 0.5]), limits=(-0.5, 0.5)), is_ascii=True)
    assert [line.count("=") > 50 for line in text.split("\n")].count(True) == 2
    assert [line.count("-") > 50 for line in text.split("\n")].count(True) == 1
    assert text.count("o") >= 2 + text.split("\n")[-1].count("o")
    assert text.endswith("o a   = limit")


def test_a_line_has_no_gaps() -> None:
    lines = render_text(chart(Series("fit", [0, 1], [0, 10], is_line=True)), is_ascii=True).split("\n")
    drawn = [line for line in lines[2:] if line[8:10] in (" |", " +")]
    assert len(drawn) > 10 and all("." in line[10:] for line in drawn)


def test_series_are_told_apart_by_sign() -> None:
    text = render_text(chart(Series("up", [0], [0]), Series("down", [1], [1])))
    assert text.split("\n")[-1] == "• up   + down"
    assert text.count("•") == 2


@pytest.mark.parametrize("series", [(), (Series("none", [], []),)])
def test_no_points_are_said_to_be_none(series) -> None:
    assert render_text(chart(*series)) == "Errors\n(no points)"
