"""The watchdog: when it starts, what feeds it, and how a board with one is reached for maintenance."""

import pytest

from scalewright_device import maintenance
from tests.firmware.parts import Bench

pytestmark = pytest.mark.usefixtures("board_memory")


class Dog:
    """A watchdog that notes when it was fed."""

    def __init__(self, clock):
        self._clock = clock
        self.fed_ms = []

    def feed(self):
        self.fed_ms.append(self._clock.now_ms)


@pytest.fixture
def bench():
    bench = Bench()
    bench.dog = Dog(bench.clock)
    bench.device.watchdog._start = lambda: bench.dog
    bench.device.board.watchdog = lambda: bench.dog
    return bench


def test_it_starts_after_ten_seconds_of_work_and_is_fed_with_every_conversion(bench):
    bench.convert(*[1] * 120)
    assert bench.dog.fed_ms == [10_000 + 100 * k for k in range(21)]


def test_it_is_fed_by_the_report_of_a_silent_adc_too_and_by_nothing_else(bench):
    bench.convert(*[1] * 100)
    del bench.dog.fed_ms[:]
    for _ in range(50):
        bench.clock.now_ms += 100
        bench.ask("*OPC?")
    assert bench.dog.fed_ms == [11_000, 12_000, 13_000, 14_000, 15_000]


def test_a_mishap_puts_its_start_off_and_leaves_it_unfed(bench):
    bench.convert(*[1] * 50)
    good, bench.device.chain.take = bench.device.chain.take, None
    bench.convert(1)
    bench.device.chain.take = good
    bench.convert(*[1] * 100)
    assert bench.dog.fed_ms == [15_100]
    bench.device.chain.take = None
    bench.convert(*[1] * 50)
    assert bench.dog.fed_ms == [15_100]


def test_a_board_that_asks_for_none_has_none():
    bench = Bench()
    bench.convert(*[1] * 300)
    assert not bench.device.watchdog.is_running


class Maintained:
    """A board that is interrupted after so many conversions, once; and its resets."""

    def __init__(self, bench, conversions):
        self.board = bench.device.board
        self._bench = bench
        self._left = conversions
        self.resets = 0
        self.turns = 0
        self.board.idle = self._idle
        self.board.reset = self._reset

    def _idle(self, is_busy):
        self.turns += 1
        if self._left == 0:
            raise KeyboardInterrupt
        self._left -= 1
        self._bench.clock.now_ms += 100
        self._bench.adc.conversions.append(1)

    def _reset(self):
        self.resets += 1

    def run(self):
        with pytest.raises(KeyboardInterrupt):
            maintenance.run(self.board)


def test_interrupted_with_a_watchdog_running_the_board_starts_anew_and_stays_in_the_repl_once(bench):
    maintained = Maintained(bench, 150)
    maintained.run()
    assert maintained.resets == 1
    turns = maintained.turns
    maintenance.run(maintained.board)  # returns: the REPL has the board
    assert maintained.turns == turns
    maintained.run()  # and at the next start it works again
    assert maintained.turns > turns


def test_interrupted_before_the_watchdog_runs_nothing_is_left_behind(bench):
    maintained = Maintained(bench, 50)
    maintained.run()
    assert maintained.resets == 0
    assert "maintenance.txt" not in bench.folder.files


def test_a_note_that_cannot_be_taken_away_does_not_keep_the_device_from_working(bench):
    bench.folder.files["maintenance.txt"] = b"stay"
    good = bench.folder.open

    def open_to_read_only(name, mode):
        if mode == "wb":
            raise OSError(28, name)
        return good(name, mode)

    bench.device.board.open = open_to_read_only
    maintained = Maintained(bench, 5)
    maintained.run()
    assert maintained.turns == 6
