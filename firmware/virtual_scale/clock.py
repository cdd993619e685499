"""Virtual time, and how it keeps up with the clock on the wall."""

_TICKS_PERIOD = 1 << 30  # as on 32-bit boards
_TICKS_AT_START = _TICKS_PERIOD - 10000  # the first wrap comes early, so that nobody can forget that ticks wrap
FASTEST = 1e6  # virtual seconds in a real one; no computer gets so far


class VirtualClock:
    """Time in integer nanoseconds since power-up, `now_ns`, with the face of MicroPython's `time`."""

    def __init__(self):
        self.now_ns = 0

    def ticks_ms(self):
        return (self.now_ns // 1000000 + _TICKS_AT_START) % _TICKS_PERIOD

    def ticks_us(self):
        return (self.now_ns // 1000 + _TICKS_AT_START) % _TICKS_PERIOD

    def ticks_diff(self, end, start):
        return (end - start + _TICKS_PERIOD // 2) % _TICKS_PERIOD - _TICKS_PERIOD // 2

    def sleep_us(self, microseconds):
        self.now_ns += microseconds * 1000


class Pace:
    """Lets virtual time pass: `speed` times as fast as the wall clock, or freely where speed is 0.

    wall_us: returns microseconds of real time.
    """

    def __init__(self, clock, wall_us, speed):
        self._clock = clock
        self._wall_us = wall_us
        self.set_speed(speed)

    @property
    def is_free(self):
        return self._speed == 0

    def set_speed(self, speed):
        """Go on at this speed from now."""
        self._speed = speed
        self._from_ns = self._clock.now_ns
        self._from_wall_us = self._wall_us()

    def skip_to(self, time_ns):
        """Be there at once, and go on from there."""
        self._clock.now_ns = time_ns
        self.set_speed(self._speed)

    def advance_to(self, time_ns):
        """Move virtual time to `time_ns`, or as far as it may be now. Returns the real seconds still to wait."""
        reached_ns = time_ns
        if not self.is_free:
            reached_ns = self._from_ns + int((self._wall_us() - self._from_wall_us) * 1000 * self._speed)
        clock = self._clock
        clock.now_ns = max(clock.now_ns, min(time_ns, reached_ns))
        return max(time_ns - reached_ns, 0) * 1e-9 / self._speed if self._speed else 0.0
