from scalewright.terminal.widgets.large_number import ROWS, dots_across, large


def test_a_number_is_as_wide_as_is_said_and_five_dots_high() -> None:
    lines = large("-29.98", 4, 2, "█")
    assert len(lines) == 2 * ROWS
    assert {len(line) for line in lines} == {4 * dots_across("-29.98")}


def test_no_digit_is_drawn_like_another() -> None:
    drawn = {tuple(large(character, 1, 1, "#")) for character in "0123456789-+ "}
    assert len(drawn) == 13


def test_digits_have_the_bars_of_a_seven_segment_display() -> None:
    """Common practice: an 8 has all seven bars, a 0 all but the middle one."""
    assert large("8", 1, 1, "#") == ["###", "# #", "###", "# #", "###"]
    assert large("0", 1, 1, "#") == ["###", "# #", "# #", "# #", "###"]
