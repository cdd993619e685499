"""A line carries what its baud rate allows and loses whole lines beyond that."""

from virtual_scale.clock import VirtualClock
from virtual_scale.uart import Uart


class Received:
    def __init__(self) -> None:
        self.lines: list[str] = []

    def read_byte(self) -> int | None:
        return None

    def write(self, text: str) -> None:
        self.lines.append(text)


def send(baud: int, bytes_a_line: int, lines_a_second: int, seconds: int = 10) -> list[str]:
    clock, received = VirtualClock(), Received()
    uart = Uart(received, clock, baud)
    for k in range(lines_a_second * seconds):
        clock.now_ns = k * 1_000_000_000 // lines_a_second
        uart.write("x" * bytes_a_line)
    return received.lines


def test_nothing_is_lost_below_the_rate_of_the_line() -> None:
    assert len(send(115200, 70, 160)) == 1600  # 11 200 of 11 520 bytes a second


def test_above_it_as_many_lines_are_lost_as_do_not_fit() -> None:
    carried = len(send(9600, 70, 80))  # 960 bytes a second: 13.7 of 80 lines
    assert 137 <= carried <= 137 + 4  # the buffer holds three more
