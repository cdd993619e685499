"""Bytes to commands and back: a Link between a serial line in memory and a counter of what was carried out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright_device.link import Link
from shared_calc import link_frame
from tests.firmware.parts import Bench, Console, record

LONGEST = 160
LINE_ENDS = [b"\r", b"\n", b"\r\n"]
printable = st.characters(min_codepoint=32, max_codepoint=126)
printable_but_mark = st.characters(min_codepoint=32, max_codepoint=125)
replies = st.text(printable_but_mark, max_size=60)


class Scene:
    """A Link whose commands are only counted: `READ?` is answered later, `silent` with nothing, others with a count."""

    def __init__(self):
        self.console = Console()
        self.carried_out = []
        self.refused = []
        self.link = Link(self.console, self._answer, self._refuse)

    def _answer(self, command, reply_to):
        self.carried_out.append((command, reply_to))
        if command == "READ?":
            return None
        return "" if command == "silent" else f"{len(self.carried_out)} {command}"

    def _refuse(self, code):
        self.refused.append(code)
        return f"!{code}"

    def send(self, data):
        """Return the lines that come back at once."""
        self.console.type(data)
        while self.link.step():
            pass
        return self.console.lines()

    def send_framed(self, sequence, command):
        return self.send((link_frame.encode(sequence, command) + "\n").encode())


@pytest.fixture
def scene():
    return Scene()


# Lines


@pytest.mark.parametrize("end", LINE_ENDS)
def test_a_bare_line_ends_with_cr_lf_or_both_and_is_answered_once(scene, end):
    assert scene.send(b"one" + end + b"two" + end) == ["1 one", "2 two"]
    assert [reply_to for _, reply_to in scene.carried_out] == [Link.BARE, Link.BARE]


@pytest.mark.parametrize("end", LINE_ENDS)
def test_a_framed_line_ends_with_cr_lf_or_both_and_is_answered_once(scene, end):
    assert scene.send(link_frame.encode(7, "one").encode() + end) == [link_frame.encode(7, "1 one")]


def test_an_empty_line_is_nothing(scene):
    assert scene.send(b"\n\r\n\r\r\n\n") == []
    assert (scene.carried_out, scene.refused) == ([], [])


def test_a_line_may_come_in_pieces(scene):
    answers = [scene.send(bytes([byte])) for byte in b"one\n"]
    assert answers == [[], [], [], ["1 one"]]


def test_a_bare_command_with_nothing_to_say_is_answered_with_silence(scene):
    assert scene.send(b"silent\n") == []  # IEEE 488.2: only queries are answered
    assert scene.carried_out == [("silent", Link.BARE)]


def test_a_framed_command_with_nothing_to_say_is_answered_with_an_empty_frame(scene):
    assert scene.send_framed(3, "silent") == [link_frame.encode(3, "")]


@pytest.mark.parametrize("length", [LONGEST, LONGEST + 1, LONGEST + 2, 10000])
def test_a_line_is_taken_up_to_its_longest_and_refused_whole_beyond(scene, length):
    answers = scene.send(b"x" * length + b"\n")
    if length <= LONGEST:
        assert answers == ["1 " + "x" * length]
    else:
        assert answers == ["!-363"]
        assert scene.carried_out == []
    assert scene.send(b"next\n")[0].endswith("next")


def test_what_a_frame_of_full_length_is_followed_by_is_not_ignored(scene):
    overhead = len(link_frame.encode(1, ""))
    frame = link_frame.encode(1, "x" * (LONGEST - overhead)).encode()
    assert scene.send(frame + b"\n") == [link_frame.encode(1, "1 " + "x" * (LONGEST - overhead))]
    assert scene.send(frame.replace(b"1", b"2", 1) + b"!\n") == [link_frame.encode(None, "!-360")]
    assert scene.send(frame + b"!\n") == [link_frame.encode(None, "!-360")]
    assert len(scene.carried_out) == 1


def test_a_bare_line_with_a_byte_that_is_not_printable_ascii_is_refused(scene):
    for byte in set(range(256)) - set(range(32, 127)) - set(b"\r\n"):
        for line in (bytes([byte]), b"on" + bytes([byte]) + b"e", bytes([byte]) + b"one", b"one" + bytes([byte])):
            assert scene.send(line + b"\n") == ["!-101"]
    assert scene.carried_out == []


def test_every_printable_character_but_the_mark_reaches_the_command(scene):
    characters = [chr(byte) for byte in range(32, 126)]
    scene.send("\n".join(characters).encode() + b"\n")
    assert scene.carried_out == [(character, Link.BARE) for character in characters]


# Repeats


def test_a_repeated_request_is_answered_again_and_carried_out_once(scene):
    first = scene.send_framed(5, "one")
    assert scene.send_framed(5, "one") == first == [link_frame.encode(5, "1 one")]
    assert scene.send_framed(5, "one") == first
    assert scene.carried_out == [("one", 5)]


def test_the_same_number_with_another_command_is_another_request(scene):
    scene.send_framed(5, "one")
    assert scene.send_framed(5, "two") == [link_frame.encode(5, "2 two")]


def test_the_same_command_with_the_next_number_is_another_request(scene):
    scene.send_framed(5, "one")
    assert scene.send_framed(6, "one") == [link_frame.encode(6, "2 one")]


def test_a_bare_line_in_between_does_not_make_a_repeat_a_new_request(scene):
    scene.send_framed(5, "one")
    scene.send(b"bare\n")
    assert scene.send_framed(5, "one") == [link_frame.encode(5, "1 one")]
    assert scene.carried_out == [("one", 5), ("bare", Link.BARE)]


def test_the_number_that_resynchronises_is_never_taken_for_a_repeat(scene):
    assert scene.send_framed(link_frame.RESYNCHRONISE, "one") == [link_frame.encode(0, "1 one")]
    assert scene.send_framed(link_frame.RESYNCHRONISE, "one") == [link_frame.encode(0, "2 one")]


def test_a_repeated_request_whose_answer_is_owed_waits_for_the_same_answer(scene):
    assert scene.send_framed(9, "READ?") == []
    assert scene.send_framed(9, "READ?") == []
    scene.link.reply(9, "42")
    assert scene.console.lines() == [link_frame.encode(9, "42")]
    assert scene.send_framed(9, "READ?") == [link_frame.encode(9, "42")]
    assert scene.carried_out == [("READ?", 9)]


def test_an_answer_that_was_owed_to_an_older_request_is_not_remembered_for_a_newer_one(scene):
    scene.send_framed(9, "READ?")
    newer = scene.send_framed(9, "one")
    scene.link.reply(9, "42")
    scene.console.lines()
    assert scene.send_framed(9, "one") == newer


def test_an_answer_that_nobody_took_is_given_on_the_repeat(scene):
    scene.console.is_taken = False
    assert scene.send_framed(5, "one") == []
    scene.console.is_taken = True
    assert scene.send_framed(5, "one") == [link_frame.encode(5, "1 one")]
    assert len(scene.carried_out) == 1


# Damage


def test_a_frame_with_any_damaged_byte_is_asked_for_again_and_not_carried_out():
    """Every position and every other byte. A damaged frame may also fall into two lines."""
    frame = link_frame.encode(0x42, "READ?").encode()
    asked_for_again = link_frame.encode(None, "!-360")
    for position in range(len(frame)):
        for byte in set(range(256)) - {frame[position]}:
            scene = Scene()
            answers = scene.send(frame[:position] + bytes([byte]) + frame[position + 1 :] + b"\n")
            assert set(answers) == {asked_for_again}
            assert scene.carried_out == []


def test_a_frame_with_a_lost_or_an_added_byte_is_asked_for_again_and_not_carried_out():
    frame = link_frame.encode(0x42, "*IDN?").encode()
    asked_for_again = link_frame.encode(None, "!-360")
    for position in range(len(frame)):
        scene = Scene()
        assert scene.send(frame[:position] + frame[position + 1 :] + b"\n") == [asked_for_again]
        for byte in range(256):
            answers = scene.send(frame[:position] + bytes([byte]) + frame[position:] + b"\n")
            if byte in b"\r\n" and position == 0:  # an empty line before the frame
                assert answers == [link_frame.encode(0x42, "1 *IDN?")]
                scene = Scene()
            else:
                assert set(answers) == {asked_for_again}
                assert scene.carried_out == []


def test_two_frames_run_together_are_asked_for_again(scene):
    both = link_frame.encode(1, "one") + link_frame.encode(2, "two") + "\n"
    assert scene.send(both.encode()) == [link_frame.encode(None, "!-360")]


def test_a_frame_that_nobody_may_ask_with_is_refused(scene):
    assert scene.send_framed(None, "one") == [link_frame.encode(None, "!-360")]
    assert (scene.carried_out, scene.refused) == ([], [-360])


@given(st.lists(st.one_of(st.binary(max_size=200), st.sampled_from(LINE_ENDS)), max_size=20))
def test_after_any_bytes_a_frame_is_answered(noise):
    scene = Scene()
    for data in noise:
        scene.send(data)
    answers = scene.send(b"\n" + (link_frame.encode(0, "still there") + "\n").encode())
    assert link_frame.decode(answers[-1]) == (0, f"{len(scene.carried_out)} still there")


@given(st.integers(0, link_frame.LAST_SEQUENCE), st.text(printable_but_mark, max_size=LONGEST - 16))
def test_any_text_without_the_mark_goes_through_a_frame_unchanged(sequence, text):
    scene = Scene()
    scene.send_framed(sequence, text)
    assert scene.carried_out == [(text, sequence)]


@given(st.lists(st.tuples(st.integers(1, 3), st.sampled_from(["one", "two"]), st.integers(1, 3)), max_size=20))
def test_however_often_requests_are_repeated_each_is_carried_out_once(requests):
    """One request outstanding at a time, each sent 1 to 3 times: neighbours that are equal are one request."""
    scene = Scene()
    expected = []
    for sequence, command, times in requests:
        if not expected or expected[-1] != (command, sequence):
            expected.append((command, sequence))
        for _ in range(times):
            assert scene.send_framed(sequence, command) == [
                link_frame.encode(sequence, f"{len(expected)} {command}")
            ]
    assert scene.carried_out == expected


# Sharing the time with the ADC


def test_a_flood_of_input_is_taken_64_bytes_a_step(scene):
    scene.console.type(b"x" * 1000)
    for left in (936, 872):
        assert scene.link.step() is True
        assert scene.console.waiting() == left


def test_a_flood_of_input_does_not_starve_the_adc():
    bench = Bench()
    bench.console.type(b"*IDN?\n" * 10000)
    for number in range(1, 101):
        bench.adc.conversions.append(number)
        bench.device.step()
        assert (bench.device.sampler.number, bench.device.chain.counts) == (number, number)
    assert bench.console.waiting() == 60000 - 100 * 64


def test_a_step_without_input_says_that_there_was_nothing(scene):
    assert scene.link.step() is False


# Unasked lines


@given(replies)
def test_unasked_lines_are_framed_or_bare_as_told(text):
    scene = Scene()
    scene.link.send_unasked(text, True)
    scene.link.send_unasked(text, False)
    framed, bare = scene.console.lines()
    assert link_frame.decode(framed) == (None, text)
    assert bare == text


def test_the_longest_command_of_the_device_fits_a_frame():
    command = f'CALibration:DATA "{record(1).hex()}"'
    assert len(link_frame.encode(link_frame.LAST_SEQUENCE, command)) <= LONGEST
