"""The board's watchdog: it starts the board anew where the device no longer works.

It cannot be stopped again, so it is started only where the board file asks for it, and after ten seconds without a
mishap: a board that fails sooner can still be reached. It is fed by a turn of the loop that had a conversion, or its
silence to report, and no mishap; never by a timer, which would go on feeding it for a loop that stands.
"""

_HEALTHY_MS = 10000


class Watchdog:
    """start: starts the board's watchdog and returns it; None: there is none."""

    def __init__(self, start):
        self._start = start
        self._running = None
        self._healthy_since_ms = 0

    @property
    def is_running(self):
        return self._running is not None

    def note_mishap(self, time_ms):
        """Something went wrong in this turn: ten seconds more until the start, and nothing to eat."""
        self._healthy_since_ms = time_ms

    def feed(self, time_ms):
        """A turn had a conversion, or its silence to report, and no mishap."""
        if self._running is None:
            if self._start is None or time_ms - self._healthy_since_ms < _HEALTHY_MS:
                return
            self._running = self._start()
        self._running.feed()
