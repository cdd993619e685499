"""Preparation of a test: what is checked by eye, warm-up, exercising with load; and the coefficients that are found."""

from dataclasses import dataclass

from scalewright.procedures.outcomes import Stage
from scalewright.procedures.requests import (
    NOTHING,
    ClearZeroAndTare,
    Do,
    Load,
    PlaceLoad,
    ReadCoefficients,
    TakeReading,
    WaitUntil,
)
from scalewright.procedures.run import Procedure


@dataclass(frozen=True)
class Preparation:
    """Plan: what is done before the first reading counts."""

    checks: tuple[str, ...] = ()
    """what the person sees to first, such as "level the scale" """
    warm_up_s: int = 0
    """how long the device must have been on, by its own clock"""
    exercise: Load = NOTHING
    """put on and taken off before anything is tested: once to Max (OIML R 76-1:2006, A.4.1.5, from memory)"""
    times: int = 1

    def steps(self, readings: int) -> Procedure[bytes]:
        """Prepare the scale and return the encoded coefficients that it has; nothing where it has none."""
        yield Stage("preparation")
        for check in self.checks:
            yield Do(check)
        if self.warm_up_s:
            yield WaitUntil(self.warm_up_s * 1000, 0)
        if self.exercise.load_g:
            for _ in range(self.times):
                yield PlaceLoad.of(self.exercise)
                yield TakeReading(readings)
                yield PlaceLoad.of(NOTHING)
                yield TakeReading(readings)
        data = yield ReadCoefficients()
        assert isinstance(data, bytes)
        if data:
            yield ClearZeroAndTare()
        return data
