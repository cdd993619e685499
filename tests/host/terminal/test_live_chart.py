from scalewright.terminal.trace import Column
from scalewright.terminal.widgets.live_chart import drawn

# Dots of a braille pattern and their bits: The Unicode Standard, block "Braille Patterns", U+2800 to U+28FF.
ALL, RIGHT = "\u28ff", "\u28b8"


def column(low: float, high: float) -> Column:
    return Column(0.0, low, high)


def test_values_stand_in_the_middle_of_the_row_of_their_number() -> None:
    """The three rows stand for 2, 1 and 0."""
    lines = drawn([column(2, 2), column(0, 0)], 0, 2, 3)
    assert [line != " " for line in lines] == [True, True, True]
    lines = drawn([column(1, 1)] * 2, 0, 2, 3)
    assert [line != " " for line in lines] == [False, True, False]


def test_a_column_is_drawn_from_its_lowest_to_its_highest_value() -> None:
    assert drawn([column(0, 2)] * 2, 0, 2, 3)[1] == ALL


def test_a_step_is_joined_to_the_column_before() -> None:
    assert drawn([column(0, 0), column(2, 2)], 0, 2, 3)[1] == RIGHT


def test_where_there_is_no_value_nothing_is_drawn() -> None:
    assert drawn([None, None, column(1, 1), column(1, 1)], 0, 2, 3)[1][0] == " "
