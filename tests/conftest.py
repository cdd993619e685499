"""What tests in several folders share: the interpreters that device code is proven on."""

import gc
from collections.abc import Iterator
from contextlib import closing

import pytest
from hypothesis import settings

from tests.on_micropython import runtimes
from tests.on_micropython.cortex_m0 import CortexM0

settings.register_profile("any machine", deadline=None)  # how busy a machine is says nothing about the code
settings.load_profile("any machine")


@pytest.fixture(scope="module")
def board_memory() -> Iterator[None]:
    """Let the device, which collects garbage after every mishap, not go through all that the tests before have left."""
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


@pytest.fixture
def unix_port() -> runtimes.UnixPort:
    return runtimes.UnixPort(runtimes.command_or_skip(runtimes.UNIX_PORT))


@pytest.fixture
def cortex_m0() -> Iterator[CortexM0]:
    with closing(CortexM0(runtimes.command_or_skip(runtimes.CORTEX_M0))) as board:
        yield board


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for sentence in runtimes.left_out():
        terminalreporter.write_line(sentence, yellow=True)
