"""Virtual time: its ticks behave as a board's, and it passes at the pace that is asked for."""

from hypothesis import given
from hypothesis import strategies as st

from virtual_scale.clock import Pace, VirtualClock

PERIOD = 1 << 30  # of the ticks of a 32-bit MicroPython board


class Wall:
    """A clock on the wall that a test sets."""

    us = 0

    def __call__(self):
        return self.us


@given(st.integers(0, 10**16), st.integers(0, (PERIOD // 2 - 1) * 1_000_000))
def test_differences_of_ticks_survive_the_wrap(start_ns, lasted_ns):
    clock = VirtualClock()
    clock.now_ns = start_ns
    start = clock.ticks_ms()
    clock.now_ns += lasted_ns
    assert 0 <= clock.ticks_ms() < PERIOD
    assert abs(clock.ticks_diff(clock.ticks_ms(), start) - lasted_ns / 1_000_000) <= 1


def test_ticks_wrap_within_seconds():
    clock = VirtualClock()
    start = clock.ticks_ms()
    clock.sleep_us(11_000_000)
    assert clock.ticks_ms() < start
    assert clock.ticks_diff(clock.ticks_ms(), start) == 11_000
    assert clock.ticks_diff(start, clock.ticks_ms()) == -11_000


def test_free_time_is_where_it_is_wanted_at_once():
    clock = VirtualClock()
    pace = Pace(clock, Wall(), 0)
    assert pace.is_free
    assert pace.advance_to(5_000_000_000) == 0
    assert clock.now_ns == 5_000_000_000


def test_paced_time_follows_the_wall_clock_and_says_how_long_to_wait():
    clock = VirtualClock()
    wall = Wall()
    pace = Pace(clock, wall, 20.0)
    wall.us = 1000
    assert pace.advance_to(100_000_000) == 0.004  # 100 ms at 20 times are 5 ms, and 1 has passed
    assert clock.now_ns == 20_000_000
    wall.us = 6000
    assert pace.advance_to(100_000_000) == 0
    assert clock.now_ns == 100_000_000  # not beyond what was asked for


def test_a_change_of_speed_makes_no_jump():
    clock = VirtualClock()
    wall = Wall()
    pace = Pace(clock, wall, 1.0)
    wall.us = 500_000
    pace.advance_to(10**9)
    pace.set_speed(10.0)
    assert pace.advance_to(10**9) == 0.05
    assert clock.now_ns == 500_000_000


def test_a_skip_takes_no_time_and_the_pace_goes_on_from_there():
    clock = VirtualClock()
    wall = Wall()
    pace = Pace(clock, wall, 2.0)
    wall.us = 1000
    pace.skip_to(10**12)
    assert clock.now_ns == 10**12
    assert pace.advance_to(10**12 + 4_000_000) == 0.002
    assert clock.now_ns == 10**12


def test_time_never_goes_back():
    clock = VirtualClock()
    pace = Pace(clock, Wall(), 0)
    pace.advance_to(1000)
    pace.advance_to(10)
    assert clock.now_ns == 1000
