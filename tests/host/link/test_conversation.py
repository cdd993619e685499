"""Host and device back to back: the real conversation and the real link, joined by bytes that may be damaged."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.link.conversation import Answered, Conversation, Event, Refused, RequestDamaged
from scalewright.link.reading import Reading
from scalewright_device.link import Link
from shared_calc import link_frame
from shared_calc.reading import OVER_RANGE

READING = "7,1250,1193046,123.4,21.5,OK"


class Wire:
    """A device's console whose other end is the host's conversation."""

    def __init__(self) -> None:
        self.to_device = bytearray()
        self.to_host = bytearray()

    def read_byte(self) -> int | None:
        return self.to_device.pop(0) if self.to_device else None

    def write(self, text: str) -> bool:
        self.to_host += text.encode()
        return True


class Pair:
    """A conversation and a link that answers every command with its own text, `bad` with an error."""

    def __init__(self) -> None:
        self.executed: list[str] = []
        self.wire = Wire()
        self.host = Conversation()
        self.device = Link(self.wire, self._answer, lambda code: f'!{code},"Communication error"')

    def _answer(self, command: str, reply_to: int) -> str:
        self.executed.append(command)
        return '!-113,"Undefined header"' if command == "bad" else command

    def send(self, data: bytes) -> list[Event]:
        self.wire.to_device += data
        while self.device.step():
            pass
        received, self.wire.to_host = bytes(self.wire.to_host), bytearray()
        return self.host.receive(received)


def test_a_request_is_answered() -> None:
    pair = Pair()
    assert pair.send(pair.host.open("*RST")) == [Answered("*RST")]
    assert pair.send(pair.host.ask("READ?")) == [Answered("READ?")]


def test_an_error_names_its_scpi_number() -> None:
    pair = Pair()
    assert pair.send(pair.host.ask("bad")) == [Refused(-113, "Undefined header")]


def test_a_lost_answer_is_repeated_without_carrying_the_command_out_again() -> None:
    pair = Pair()
    pair.wire.to_device += pair.host.ask("CALibration:DATA 00")
    pair.device.step()
    pair.wire.to_host.clear()  # lost
    assert pair.send(pair.host.repeat()) == [Answered("CALibration:DATA 00")]
    assert pair.executed == ["CALibration:DATA 00"]


def test_an_answer_to_an_earlier_request_is_not_taken_for_the_present_one() -> None:
    pair = Pair()
    late = pair.host.ask("first")
    pair.host.ask("second")
    assert pair.send(late) == []


def test_a_new_host_is_not_given_an_answer_meant_for_the_one_before() -> None:
    pair = Pair()
    pair.send(pair.host.open("*RST"))
    pair.send(pair.host.ask("READ?"))
    pair.host = Conversation()
    pair.send(pair.host.open("*RST"))
    pair.send(pair.host.ask("READ?"))
    assert pair.executed == ["*RST", "READ?", "*RST", "READ?"]


@given(st.data())
def test_a_request_damaged_in_any_byte_is_never_carried_out(data: st.DataObject) -> None:
    pair = Pair()
    frame = bytearray(pair.host.ask("CALibration:DATA 00"))
    place = data.draw(st.integers(0, len(frame) - 2))
    frame[place] = data.draw(st.integers(0, 255).filter(lambda byte: byte != frame[place]))
    events = pair.send(bytes(frame))
    assert "CALibration:DATA 00" not in pair.executed
    assert not any(isinstance(event, Answered) for event in events)
    assert pair.send(pair.host.repeat())[-1] == Answered("CALibration:DATA 00")


def test_a_damaged_request_is_asked_for_again() -> None:
    pair = Pair()
    damaged = pair.host.ask("READ?").replace(b"READ", b"REAL")
    assert pair.send(damaged) == [RequestDamaged()]


@given(st.lists(st.binary(max_size=40), max_size=8))
def test_the_host_survives_any_bytes(chunks: list[bytes]) -> None:
    pair = Pair()
    for chunk in chunks:
        assert not [event for event in pair.host.receive(chunk) if isinstance(event, Reading)]
    pair.host.receive(b"\n")
    assert pair.send(pair.host.ask("READ?")) == [Answered("READ?")]


def test_readings_arrive_in_order_and_a_hole_is_counted() -> None:
    host = Conversation()
    lines = "".join(link_frame.encode(None, f"{k},{k * 12},{k},,,OVER_RANGE") + "\r\n" for k in (1, 2, 5))
    readings = host.receive(lines.encode())
    assert [reading.number for reading in readings if isinstance(reading, Reading)] == [1, 2, 5]
    assert host.readings_missed == 2
    assert readings[0] == Reading(1, 12, 1, None, None, OVER_RANGE)


def test_a_reading_keeps_its_digits() -> None:
    reading = Reading.from_text(READING)
    assert (reading.indication_g, reading.temperature_c, reading.faults) == (Decimal("123.4"), Decimal("21.5"), "OK")


@pytest.mark.parametrize("size", [1, 2, 3, 7])
def test_lines_may_arrive_in_pieces(size: int) -> None:
    host = Conversation()
    wire = (link_frame.encode(None, READING) + "\r\n").encode() * 3
    events = [event for k in range(0, len(wire), size) for event in host.receive(wire[k : k + size])]
    assert events == [Reading.from_text(READING)] * 3


def test_noise_without_line_ends_does_not_fill_the_memory() -> None:
    host = Conversation()
    for _ in range(1000):
        host.receive(b"x" * 100)
    assert host.damaged_lines > 0
    assert len(host._received) <= 1000
