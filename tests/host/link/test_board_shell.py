"""What is no board, and what mpremote says of it, is told with what was expected, what was seen and what to try.

The other end of the port is a pty that this test holds. What works is in tests/end_to_end/test_install.py.
"""

import os
import pty
import threading
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest

from scalewright.errors import LinkError
from scalewright.link.board_shell import BoardShell


class Device:
    """Something at the other end of a serial port."""

    def __init__(self) -> None:
        self._end, self._port = pty.openpty()
        tty.setraw(self._port)
        self.port = os.ttyname(self._port)
        self._answer = threading.Thread()
        self._answer.start()

    def answer(self, text: bytes) -> None:
        """Answer the first bytes that come; they are `heard`."""

        def take_and_say() -> None:
            self.heard = os.read(self._end, 1000)
            os.write(self._end, text)

        self._answer = threading.Thread(target=take_and_say)
        self._answer.start()

    def close(self) -> None:
        self._answer.join()
        os.close(self._end)
        os.close(self._port)


@pytest.fixture
def device() -> Iterator[Device]:
    device = Device()
    yield device
    device.close()


def test_a_prompt_is_enough_and_was_asked_for_by_ctrl_c(device: Device) -> None:
    device.answer(b"KeyboardInterrupt: \r\nMicroPython v1.23.0 on 2024-06-02\r\n>>> ")
    BoardShell(device.port).interrupt(timeout_s=5)
    assert b"\x03" in device.heard


def test_silence_is_said_with_the_ports_that_there_are(device: Device) -> None:
    with pytest.raises(LinkError) as raised:
        BoardShell(device.port).interrupt(timeout_s=0.2)
    assert raised.value.message == f"{device.port}: expected MicroPython's prompt '>>> ' within 0.2 s; seen: nothing"
    assert raised.value.remedy.startswith("is this the board's port, and MicroPython on the board? Ports seen: ")


def test_what_another_device_says_is_shown(device: Device) -> None:
    device.answer(b"17 degrees, no load\r\n")
    with pytest.raises(LinkError, match=r"seen: b'17 degrees, no load\\r\\n' \(is this another device's port\?"):
        BoardShell(device.port).interrupt(timeout_s=0.2)


def test_a_port_that_is_not_there_is_waited_for_and_then_named(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match="port: cannot be opened: "):
        BoardShell(str(tmp_path / "port")).await_port(timeout_s=0)


def test_a_port_that_is_gone_when_mpremote_wants_it_is_said(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match=r"seen: mpremote: failed to access .*check that the board is plugged in"):
        BoardShell(str(tmp_path / "port")).evaluate("", "an answer")


def test_a_board_that_falls_silent_ends_the_wait(device: Device) -> None:
    with pytest.raises(LinkError, match=r"expected an answer within 0.5 s; seen: nothing \(press the board's reset"):
        BoardShell(device.port).evaluate("", "an answer", timeout_s=0.5)
