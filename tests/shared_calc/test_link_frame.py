"""The frame: what goes in comes out, and no damage to one line makes another frame or a plain command of it."""

import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.link_frame import MARK, FrameError, decode, encode

printable = st.characters(min_codepoint=32, max_codepoint=126)
texts = st.text(printable.filter(lambda c: c != "~"), max_size=80)
ascii_characters = st.characters(max_codepoint=127)
sequences = st.one_of(st.none(), st.integers(0, 0xFFFF))
LINE_ENDS = ("\n", "\r", "\r\n")


def assert_noticed(received: str, sent: str) -> None:
    """Every line of what was received is empty, the frame that was sent, or known to be damaged."""
    for line in received.replace("\r", "\n").split("\n"):
        if line not in ("", sent):
            assert MARK in line, f"{line!r} would be read as a plain command"
            with pytest.raises(FrameError):
                decode(line)


@given(sequences, texts)
def test_a_frame_returns_its_number_and_text(sequence, text) -> None:
    frame = encode(sequence, text)
    assert MARK in frame
    assert decode(frame) == (sequence, text)


def test_a_frame_looks_as_documented() -> None:
    body = "0042 READ?"
    assert encode(0x42, "READ?") == f"~{body}~{zlib.crc32(body.encode()):08X}~"
    assert encode(None, "1,2,3") == f"~---- 1,2,3~{zlib.crc32(b'---- 1,2,3'):08X}~"


@given(sequences, texts, ascii_characters)
def test_any_substituted_byte_is_noticed_wherever_it_is(sequence, text, other) -> None:
    frame = encode(sequence, text)
    for place in range(len(frame)):
        if other != frame[place]:
            assert_noticed(frame[:place] + other + frame[place + 1 :], frame)


@given(sequences, texts)
def test_any_lost_byte_is_noticed_wherever_it_was(sequence, text) -> None:
    frame = encode(sequence, text)
    for place in range(len(frame)):
        assert_noticed(frame[:place] + frame[place + 1 :], frame)


@given(sequences, texts, ascii_characters.filter(lambda c: c not in "\r\n"))
def test_any_inserted_byte_is_noticed_wherever_it_is(sequence, text, extra) -> None:
    frame = encode(sequence, text)
    for place in range(len(frame) + 1):
        with pytest.raises(FrameError):
            decode(frame[:place] + extra + frame[place:])


@given(sequences, texts, st.sampled_from(LINE_ENDS))
def test_a_line_end_anywhere_in_a_frame_leaves_no_plain_command(sequence, text, line_end) -> None:
    frame = encode(sequence, text)
    for place in range(len(frame) + 1):
        assert_noticed(frame[:place] + line_end + frame[place:], frame)


@given(sequences, texts, sequences, texts)
def test_two_frames_without_the_line_end_between_them_are_noticed(sequence, text, second_sequence, second_text) -> None:
    with pytest.raises(FrameError):
        decode(encode(sequence, text) + encode(second_sequence, second_text))


@given(sequences, texts)
def test_a_frame_cut_short_at_either_end_is_noticed(sequence, text) -> None:
    frame = encode(sequence, text)
    for place in range(1, len(frame)):
        assert_noticed(frame[:place], frame)
        assert_noticed(frame[place:], frame)


@given(st.text(printable, max_size=60))
def test_arbitrary_text_is_no_frame_unless_it_is_spelled_as_one(line) -> None:
    """The frame around any body with a good CRC decodes only where encode would spell it the same."""
    for candidate in (line, f"~{line}~{zlib.crc32(line.encode()):08X}~"):
        try:
            sequence, text = decode(candidate)
        except FrameError:
            continue
        assert encode(sequence, text) == candidate


@pytest.mark.parametrize("body", ["", "004", "0042", "0042READ?", "00a2 READ?", "+042 READ?", "-001 READ?", "0_42 X"])
def test_a_whole_frame_without_a_proper_number_is_refused(body) -> None:
    with pytest.raises(FrameError, match="no sequence number"):
        decode(f"~{body}~{zlib.crc32(body.encode()):08X}~")
