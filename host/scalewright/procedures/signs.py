"""What the result of each test points to, where something was beyond its limit."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from scalewright.procedures.changeover import ChangeoverErrors, ChangeoverTest
from scalewright.procedures.creep import Creep, CreepTest
from scalewright.procedures.eccentricity import Eccentricity, EccentricityTest
from scalewright.procedures.faults import Suspicion, grams, more, signed
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.range_check import RangeCheck, Step
from scalewright.procedures.repeatability import RepeatabilityTest, Series
from scalewright.procedures.requests import Answer, Request, StillReading
from scalewright.procedures.scale_under_test import ScaleUnderTest
from scalewright.procedures.signs_over_range import signs_over_range
from scalewright.procedures.temperature import TemperatureTest
from scalewright.procedures.tilt import TiltTest
from scalewright.procedures.warm_up import WarmUpPoint, WarmUpTest

_CHANGED_C = 2  # steady enough for a load cell: OIML R 60-2:2021, 2.7.3.1


@dataclass(frozen=True)
class Part:
    """One test, as it went."""

    test: Any
    result: Any
    scale: ScaleUnderTest
    failed: list[Outcome]
    """what was beyond its limit"""
    answered: list[tuple[Request, Answer]]


def signs(part: Part) -> Iterator[Suspicion]:
    """Yield what a test points to. A temperature that changed meanwhile explains whatever else there is."""
    if part.failed:
        changed = list(_temperature_changed(part))
        yield from changed or (_RULES[type(part.test)](part) if type(part.test) in _RULES else ())


def _temperature_changed(part: Part) -> Iterator[Suspicion]:
    temperatures = [answer.temperature_c for _, answer in part.answered if isinstance(answer, StillReading)]
    known = [temperature_c for temperature_c in temperatures if temperature_c is not None]
    is_meant = isinstance(part.test, TemperatureTest | WarmUpTest)
    if known and not is_meant and max(known) - min(known) >= _CHANGED_C:
        seen = f"the scale was between {min(known):.1f} and {max(known):.1f} °C during the test: {part.test.title}"
        yield Suspicion("temperature changed", seen)


def _range(part: Part) -> Iterator[Suspicion]:
    return signs_over_range(part.test.loads, part.result)


def _changeover(part: Part) -> Iterator[Suspicion]:
    result: ChangeoverErrors = part.result
    steps = [Step(s.at.load_g, s.direction, s.at.indication_g, s.error_g, s.limit_g) for s in result.steps]
    return signs_over_range(part.test.loads, steps)


def _corner(part: Part) -> Iterator[Suspicion]:
    result: Eccentricity = part.result
    off = dict(zip((place.name for place in result.places), result.differences_g, strict=True))
    worst = max(off, key=lambda name: abs(off[name]))
    if abs(off[worst]) > result.limit_g:
        others = ", ".join(f"{name} {signed(off[name])}" for name in list(off)[1:])
        seen = f"the corner {worst} reads {more(off[worst])} than the middle with {result.load_g} g ({others})"
        yield Suspicion("corner error", seen)


def _repeatability(part: Part) -> Iterator[Suspicion]:
    series: tuple[Series, ...] = part.result
    worst = max(series, key=lambda one: one.spread_g / one.limit_g)
    if worst.spread_g > worst.limit_g:
        seen = f"{len(worst.indications_g)} weighings of {worst.load_g} g spread over {grams(worst.spread_g)}"
        yield Suspicion("does not repeat", f"{seen}, allowed {grams(worst.limit_g)}")


def _creep(part: Part) -> Iterator[Suspicion]:
    result: Creep = part.result
    minutes, change_g = result.changes_g[-1]
    seen = f"{part.test.load.load_g} g reads {more(change_g)} after {float(minutes):.0f} min"
    yield Suspicion("creep", f"{seen}; the zero comes back to {signed(result.zero_return_g)}")


def _tilt(part: Part) -> Iterator[Suspicion]:
    yield _worst("out of level", part.failed)


def _warm_up(part: Part) -> Iterator[Suspicion]:
    points: tuple[WarmUpPoint, ...] = part.result
    zeros = "; ".join(f"{float(point.minute):.0f} min: {signed(point.zero_g)}" for point in points)
    errors = "; ".join(signed(point.error_g) for point in points)
    yield Suspicion("warming up", f"zero after switch-on {zeros}; errors of {points[0].load_g} g {errors}")


def _temperature(part: Part) -> Iterator[Suspicion]:
    for fault, is_loaded in (("span with temperature", True), ("zero with temperature", False)):
        failed = [outcome for outcome in part.failed if (outcome.load_g is not None) == is_loaded]
        if failed:
            yield _worst(fault, failed)


def _worst(fault: str, failed: list[Outcome]) -> Suspicion:
    worst = max(failed, key=lambda outcome: abs(outcome.value) / outcome.limit)
    return Suspicion(fault, f"{worst.what}: {signed(worst.value)}, allowed {grams(worst.limit)}")


_RULES: dict[type, Callable[[Part], Iterator[Suspicion]]] = {
    RangeCheck: _range,
    ChangeoverTest: _changeover,
    EccentricityTest: _corner,
    RepeatabilityTest: _repeatability,
    CreepTest: _creep,
    TiltTest: _tilt,
    WarmUpTest: _warm_up,
    TemperatureTest: _temperature,
}
