"""From the ADC to numbered raw counts with their time. Never waits: neither for the ADC nor for the link."""

from shared_calc.reading import BAD_FRAME, NO_DATA

_SILENCE_MS = 1000  # the slowest supported rate is 10 readings a second


class Sampler:
    """Holds the latest conversion: `number`, `time_ms` since start, `counts`, `flags` (NO_DATA, BAD_FRAME)."""

    def __init__(self, adc, clock):
        self._adc = adc
        self._clock = clock
        self._ticks = clock.ticks_ms()
        self._last_conversion_ms = 0
        self._last_report_ms = 0
        self._to_discard = adc.settling_readings
        self.number = 0
        self.time_ms = 0
        self.counts = 0
        self.flags = NO_DATA

    def step(self):
        """Take the waiting conversion. Returns True where there is a new one, or a silence to report."""
        ticks = self._clock.ticks_ms()
        self.time_ms += self._clock.ticks_diff(ticks, self._ticks)
        self._ticks = ticks
        try:
            if self._adc.is_ready():
                return self._take()
            if self.time_ms - self._last_conversion_ms < _SILENCE_MS:
                return False
            self._restart()
        except OSError:  # nobody answers on the ADC's bus
            return self._note_silent_bus()
        return self._finish(NO_DATA)

    def _note_silent_bus(self):
        self._to_discard = self._adc.settling_readings
        is_news = self.flags != NO_DATA or self.time_ms - self._last_report_ms >= _SILENCE_MS
        return is_news and self._finish(NO_DATA)

    def _take(self):
        counts = self._adc.read()
        if not self._adc.is_valid:
            self._restart()
            # A data line stuck at "ready" gives a bad frame at every step; one report a second is enough.
            is_news = self.flags != BAD_FRAME or self.time_ms - self._last_report_ms >= _SILENCE_MS
            return is_news and self._finish(BAD_FRAME)
        if self._to_discard:
            self._to_discard -= 1
            self._last_conversion_ms = self.time_ms
            return False
        self.counts = counts
        return self._finish(0)

    def _restart(self):
        self._adc.restart()
        self._to_discard = self._adc.settling_readings

    def _finish(self, flags):
        self._last_conversion_ms = self.time_ms
        self._last_report_ms = self.time_ms
        self.flags = flags
        self.number += 1
        return True
