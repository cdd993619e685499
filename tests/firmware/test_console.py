"""The board's serial line over real pipes: nothing waits, nothing is changed on the way."""

import io
import os
import select
import threading

import pytest

from scalewright_device.console import StdioConsole


class Pipes:
    """A console between two pipes, unbuffered as on a board: text streams with a raw stream beneath."""

    def __init__(self):
        device_reads, self.to_device = os.pipe()
        self.from_device, device_writes = os.pipe()
        self._stdin = io.TextIOWrapper(io.FileIO(device_reads, "r"))
        self._stdout = io.TextIOWrapper(io.FileIO(device_writes, "w"))
        self.console = StdioConsole(self._stdin, self._stdout)

    def hang_up(self):
        os.close(self.to_device)
        self.to_device = None

    def close(self):
        if self.to_device is not None:
            self.hang_up()
        self._stdin.close()
        self._stdout.close()
        os.close(self.from_device)


@pytest.fixture
def pipes():
    pipes = Pipes()
    yield pipes
    pipes.close()


def test_where_nothing_has_been_received_there_is_no_byte_and_no_wait(pipes):
    assert pipes.console.read_byte() is None


def test_every_byte_arrives_as_it_was_sent_line_ends_too(pipes):
    sent = bytes(range(256)) + b"\r\n\n\r"
    os.write(pipes.to_device, sent)
    assert bytes(pipes.console.read_byte() for _ in sent) == sent
    assert pipes.console.read_byte() is None


def test_what_is_written_leaves_at_once_and_unchanged(pipes):
    pipes.console.write("1,2,3\r\n")
    assert os.read(pipes.from_device, 100) == b"1,2,3\r\n"


def test_a_line_that_nobody_takes_is_dropped_instead_of_waited_for(pipes):
    for _ in range(10000):  # far more than a pipe holds
        pipes.console.write("x" * 126 + "\r\n")
    received = b""
    while select.select([pipes.from_device], [], [], 0)[0]:
        received += os.read(pipes.from_device, 65536)
    assert 0 < len(received) < 1280000
    assert received == (b"x" * 126 + b"\r\n") * (len(received) // 128)
    pipes.console.write("again\r\n")
    assert os.read(pipes.from_device, 100) == b"again\r\n"


def test_the_end_of_input_ends_the_program(pipes):
    pipes.hang_up()
    with pytest.raises(EOFError):
        pipes.console.read_byte()


def test_waiting_ends_when_a_byte_comes(pipes):
    sender = threading.Thread(target=os.write, args=(pipes.to_device, b"x"))
    sender.start()
    pipes.console.wait(60000)
    assert pipes.console.read_byte() == ord("x")
    sender.join()
