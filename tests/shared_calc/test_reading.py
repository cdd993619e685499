"""The reading as one line of text."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.reading import FLAG_NAMES, ReadingError, format_flags, format_reading, parse_flags, parse_reading

ALL_FLAGS = (1 << len(FLAG_NAMES)) - 1
flags = st.integers(0, ALL_FLAGS)
naturals = st.integers(0, 1 << 40)
decimals = st.one_of(st.just(""), st.decimals(-10_000, 10_000, places=3).map(str))


@given(naturals, naturals, st.one_of(st.none(), st.integers(-0x800000, 0x7FFFFF)), decimals, decimals, flags)
def test_a_reading_comes_back_from_its_line(number, time_ms, counts, indication_g, temperature_c, flags) -> None:
    reading = (number, time_ms, counts, indication_g, temperature_c, flags)
    line = format_reading(*reading)
    assert line.isascii() and line.isprintable() and "~" not in line
    assert parse_reading(line) == reading


@given(flags)
def test_flags_are_named_and_none_is_ok(flags) -> None:
    text = format_flags(flags)
    assert parse_flags(text) == flags
    assert set(text.split("|")) == ({name for k, name in enumerate(FLAG_NAMES) if flags >> k & 1} or {"OK"})


def test_a_line_looks_as_documented() -> None:
    assert format_reading(17, 2500, -123, "12.40", "21.5", 0) == "17,2500,-123,12.40,21.5,OK"
    assert format_reading(18, 2600, None, "", "", 1 | 32) == "18,2600,,,,NO_DATA|BAD_FRAME"
    assert Decimal(parse_reading("17,2500,-123,12.40,21.5,OK")[3]) == Decimal("12.40")


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("", "6 fields, got 1"),
        ("1,2,3,4,5,OK,7", "6 fields, got 7"),
        ("x,2,3,4,5,OK", "whole numbers"),
        ("1,2.5,3,4,5,OK", "whole numbers"),
        ("1,2,0x3,4,5,OK", "whole numbers"),
        ("1,2,3,4,5,", "flag  is not known"),
        ("1,2,3,4,5,OK|SATURATED", "flag OK is not known"),
        ("1,2,3,4,5,saturated", "flag saturated is not known"),
    ],
)
def test_what_is_no_reading_is_refused_in_words(line, reason) -> None:
    with pytest.raises(ReadingError, match=reason):
        parse_reading(line)


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=60))
def test_arbitrary_text_is_a_reading_or_refused(line) -> None:
    for text in (line, f"1,{line},OK"):
        try:
            reading = parse_reading(text)
        except ReadingError:
            continue
        assert parse_reading(format_reading(*reading)) == reading
