"""Temperature: zero and errors with the scale warm and cold through and through."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.influence_limits import no_load_degrees, no_load_limit
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import NOTHING, Load, PlaceLoad, SetAir, StillReading, TakeReading, WaitUntil
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

_STEADY_C = Decimal("0.1")  # from one look to the next; R 76-1:2006, A.4.1.2 (from memory) allows 5 °C in an hour
_LEAST_C = 1  # between two temperatures that are told apart
_MS_PER_S = 1000


@dataclass(frozen=True)
class AtTemperature:
    """What the scale did at one temperature."""

    temperature_c: Decimal
    """by the scale's own thermometer; that of the air where it has none"""
    zero_g: Fraction
    """indication of the empty scale, zero never set"""
    errors: tuple[tuple[Decimal, Fraction], ...]
    """each load and its error, from the zero at this temperature"""


@dataclass(frozen=True)
class TemperatureTest:
    """Plan: at each temperature of the air the empty scale, then loads (OIML R 76-1:2006, 3.9.2 and A.5.3).

    The scale has followed when its thermometer shows the same at two looks. One without a thermometer is given the
    time of one look only: make that long enough.
    """

    title: ClassVar[str] = "temperature"
    airs_c: tuple[Decimal, ...]
    loads: tuple[Load, ...]
    look_every_s: int = 300

    def steps(self, scale: ScaleUnderTest) -> Procedure[tuple[AtTemperature, ...]]:
        """Go through the temperatures; the air is left at the last."""
        results: list[AtTemperature] = []
        yield from scale.set_zero()
        for air_c in self.airs_c:
            yield SetAir(air_c)
            yield from self._follow(scale)
            results.append((yield from self._at(scale, air_c)))
            if len(results) > 1:
                yield from _zero_change(scale, *results[-2:])
        return tuple(results)

    def _follow(self, scale: ScaleUnderTest) -> Procedure[None]:
        """Wait until the scale has come to the temperature of the air."""
        now = yield TakeReading(scale.held.readings)
        is_steady = False
        while not is_steady:
            assert isinstance(now, StillReading)
            before_c = now.temperature_c
            yield WaitUntil(now.time_ms + self.look_every_s * _MS_PER_S, now.time_ms)
            now = yield TakeReading(scale.held.readings)
            assert isinstance(now, StillReading)
            is_steady = before_c is None or now.temperature_c is None or abs(now.temperature_c - before_c) <= _STEADY_C

    def _at(self, scale: ScaleUnderTest, air_c: Decimal) -> Procedure[AtTemperature]:
        empty = yield from scale.take_zero()
        temperature_c = air_c if empty.temperature_c is None else empty.temperature_c
        errors, before = [], NOTHING
        for load in self.loads:
            still = yield from scale.weigh(load, before)
            errors.append((load.load_g, scale.error_g(load.load_g, still)))
            what = f"error at {load.load_g} g, {temperature_c:.1f} °C"
            source = f"3.9.2; {scale.held.limits.source}"
            yield Outcome(what, errors[-1][1], scale.limit_g(load.load_g), source, load_g=load.load_g)
            before = load
        yield PlaceLoad.of(NOTHING)
        return AtTemperature(temperature_c, scale.zero_g, tuple(errors))


def _zero_change(scale: ScaleUnderTest, before: AtTemperature, now: AtTemperature) -> Procedure[None]:
    """Tell how far the zero went in the few degrees that the limit is for."""
    warmer_c = Fraction(now.temperature_c - before.temperature_c)
    if abs(warmer_c) < _LEAST_C:
        return
    degrees, limit = no_load_degrees(scale.r76), no_load_limit(scale.r76)
    change_g = (now.zero_g - before.zero_g) * degrees / warmer_c
    what = f"zero in {degrees} °C, {before.temperature_c:.1f} to {now.temperature_c:.1f} °C"
    yield Outcome(what, change_g, limit.limit_g, limit.source)
