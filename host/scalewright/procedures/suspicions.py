"""What the results of a test point to, as faults with names: what was seen, and what to check, in order.

The limits are those of the standards that the outcomes name. How the figures are read, and what is checked first, is
common practice.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

from scalewright.procedures.calibration import AS_FOUND, AS_LEFT, Calibration, CalibrationResult, NotTested
from scalewright.procedures.changeover import ChangeoverErrors, ChangeoverTest
from scalewright.procedures.creep import Creep, CreepTest
from scalewright.procedures.eccentricity import Eccentricity, EccentricityTest
from scalewright.procedures.odd_mass import odd_mass
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.range_check import RangeCheck, Step
from scalewright.procedures.repeatability import RepeatabilityTest, Series
from scalewright.procedures.requests import Answer, Load, PlaceLoad, Request, StillReading, TakeStillReading
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import ScaleUnderTest
from scalewright.procedures.temperature import AtTemperature, TemperatureTest
from scalewright.procedures.tilt import Tilted, TiltTest
from scalewright.procedures.warm_up import WarmUpPoint, WarmUpTest
from shared_calc.coefficient_record import decode

CHECKS = {
    "temperature changed": "keep sun, heaters and draughts away, let the scale stand until its thermometer is steady, "
    "then repeat; compensate it for temperature (scalewright drift)",
    "corner error": "level the scale; see that the pan sits well and nothing touches it there; that the cell, or the "
    "cells under that side, are screwed down flat; then trim that corner or replace the cell under it",
    "bad reference mass": "look whether it is the right piece, clean and whole; weigh it against another; calibrate it",
    "hysteresis": "see that nothing rubs or binds as the pan sinks and that screws are tight; if it stays, the cell",
    "creep": "see that nothing yields under the load: feet, rubber, table, adhesive; if it stays, the cell is damp or "
    "was overloaded: replace it",
    "zero shift": "see what lies on or under the pan; was the scale overloaded or knocked? Clear it and repeat; if "
    "the zero jumps again under load, the cell is overloaded or loose",
    "moving zero": "let it warm up; keep draughts and vibration away; see that nothing touches the pan and that "
    "cables and plugs are dry and firm",
    "out of level": "level the scale before every use; see that the cell is mounted square; at 50/1000 any load weighs "
    "0.12 % less (cosine), so a scale of more than 1200 e needs a level indicator, and is tested at its mark",
    "warming up": "leave it switched on, or wait before use as long as it moved",
    "span with temperature": "compensate it for temperature (scalewright drift), or use it in a narrower range",
    "zero with temperature": "compensate it for temperature (scalewright drift), and set zero before each weighing",
    "wrong span": "level the scale; was it adjusted elsewhere (gravity), or with another mass? Adjust it",
    "does not repeat": "keep draughts and vibration away; see that nothing touches the pan, that it sits firmly, and "
    "that the load is put down gently, always in the middle",
}
"""fault -> what to check"""
_CHANGED_C = 2  # steady enough for a load cell: OIML R 60-2:2021, 2.7.3.1


@dataclass(frozen=True)
class Suspicion:
    """A fault that the results point to."""

    fault: str
    """one of CHECKS"""
    seen: str
    """what points to it, with figures"""

    @property
    def check(self) -> str:
        """What to check, in order."""
        return CHECKS[self.fault]

    def __str__(self) -> str:
        return f"{self.fault}: {self.seen}. To check: {self.check}."


@dataclass(frozen=True)
class _Part:
    """One test, as it went."""

    test: Any
    result: Any
    scale: ScaleUnderTest
    failed: list[Outcome]
    answered: list[tuple[Request, Answer]]


def suspicions(plan: Calibration, run: Run[CalibrationResult]) -> tuple[Suspicion, ...]:
    """Return what the results of a job point to, of the scale as it is left; nothing where all is well."""
    if run.result is None:
        return ()
    found: list[Suspicion] = []
    parts = list(_parts(plan, run, run.result))
    for part in parts:
        changed = list(_temperature_changed(part)) if part.failed else []
        found += changed or (_RULES[type(part.test)](part) if type(part.test) in _RULES else ())
    if not found:
        found += _zero(parts)
    return tuple(dict.fromkeys(found))


def _parts(plan: Calibration, run: Run[CalibrationResult], result: CalibrationResult) -> Iterator[_Part]:
    if result.as_left is None:
        state, tests, results = AS_FOUND, plan.as_found, result.as_found or ()
        data = next((answer for _, answer in run.answered if isinstance(answer, bytes)), b"")
    else:
        assert result.adjustment is not None
        state, tests, results, data = AS_LEFT, plan.as_left, result.as_left, result.adjustment.coefficients
    answered = [answers for stage, answers in run.parts if stage.title.startswith(state)]
    for test, its, answers in zip(tests, results, answered, strict=True):
        if not isinstance(its, NotTested):
            title = f"{state}: {test.title}"
            failed = [outcome for outcome in run.outcomes if outcome.stage == title and not outcome.passes]
            yield _Part(test, its, ScaleUnderTest(decode(data), plan.held), failed, answers)


def _temperature_changed(part: _Part) -> Iterator[Suspicion]:
    if isinstance(part.test, TemperatureTest | WarmUpTest):
        return
    temperatures = [answer.temperature_c for _, answer in part.answered if isinstance(answer, StillReading)]
    known = [temperature for temperature in temperatures if temperature is not None]
    if known and max(known) - min(known) >= _CHANGED_C:
        seen = f"the scale was between {min(known):.1f} and {max(known):.1f} °C during the test: {part.test.title}"
        yield Suspicion("temperature changed", seen)


def _range(part: _Part) -> Iterator[Suspicion]:
    if part.failed:
        yield from _over_the_range(part.test.loads, part.result)


def _changeover(part: _Part) -> Iterator[Suspicion]:
    result: ChangeoverErrors = part.result
    steps = [Step(s.at.load_g, s.direction, s.at.indication_g, s.error_g, s.limit_g) for s in result.steps]
    if part.failed:
        yield from _over_the_range(part.test.loads, steps)


def _over_the_range(loads: Sequence[Load], steps: Sequence[Step]) -> Iterator[Suspicion]:
    odd = odd_mass(loads, steps)
    if odd is not None:
        names = " or ".join(odd.names)
        seen = f"with {names} on, the scale shows {_more(odd.error_g)} than a smooth curve through the others"
        yield Suspicion("bad reference mass", f"{seen}, up and down alike")
        return
    yield from _loop(steps)
    yield from _wrong_span(steps)


def _loop(steps: Sequence[Step]) -> Iterator[Suspicion]:
    """Up and down differ, yet the zero comes back."""
    up = {step.load_g: step for step in steps if step.direction == "up"}
    down = {step.load_g: step for step in steps if step.direction == "down"}
    widths = {load_g: down[load_g].error_g - up[load_g].error_g for load_g in up if load_g in down}
    if not widths:
        return
    widest_g = max(widths, key=lambda load_g: abs(widths[load_g]))
    zero_g = widths.get(min(widths), Fraction(0))
    if abs(widths[widest_g]) > up[widest_g].limit_g and abs(zero_g) < abs(widths[widest_g]) / 2:
        seen = f"{widest_g} g reads {_more(widths[widest_g])} on the way down than on the way up"
        yield Suspicion("hysteresis", f"{seen}, and the zero comes back to {_signed(zero_g)}")


def _wrong_span(steps: Sequence[Step]) -> Iterator[Suspicion]:
    """All errors are one part of the load."""
    loads = [(Fraction(step.load_g), step) for step in steps]
    squares = sum(load_g * load_g for load_g, _ in loads)
    slope = sum(load_g * step.error_g for load_g, step in loads) / squares if squares else Fraction(0)
    full_g, top = max(loads, key=lambda each: each[0])
    left_g = max(abs(step.error_g - slope * load_g) for load_g, step in loads)
    if abs(slope * full_g) > top.limit_g and left_g < abs(slope * full_g) / 3:
        yield Suspicion("wrong span", f"all loads read {_parts_of(slope)}: {_signed(slope * full_g)} at {top.load_g} g")


def _corner(part: _Part) -> Iterator[Suspicion]:
    result: Eccentricity = part.result
    worst = max(range(len(result.places)), key=lambda k: abs(result.differences_g[k]))
    if abs(result.differences_g[worst]) <= result.limit_g:
        return
    others = ", ".join(
        f"{place.name} {_signed(difference_g)}"
        for place, difference_g in zip(result.places[1:], result.differences_g[1:], strict=True)
    )
    seen = f"the corner {result.places[worst].name} reads {_more(result.differences_g[worst])} than the middle"
    yield Suspicion("corner error", f"{seen} with {result.load_g} g ({others})")


def _creep(part: _Part) -> Iterator[Suspicion]:
    result: Creep = part.result
    if part.failed:
        minutes, change_g = result.changes_g[-1]
        seen = f"{part.test.load.load_g} g reads {_more(change_g)} after {float(minutes):.0f} min"
        yield Suspicion("creep", f"{seen}; the zero comes back to {_signed(result.zero_return_g)}")


def _tilt(part: _Part) -> Iterator[Suspicion]:
    result: tuple[Tilted, ...] = part.result
    if part.failed and result:
        worst = max(part.failed, key=lambda outcome: abs(outcome.value) / outcome.limit)
        yield Suspicion("out of level", f"{worst.what}: {_signed(worst.value)}, allowed {_plain(worst.limit)}")


def _warm_up(part: _Part) -> Iterator[Suspicion]:
    result: tuple[WarmUpPoint, ...] = part.result
    if part.failed:
        said = "; ".join(f"{float(point.minute):.0f} min: {_signed(point.zero_g)}" for point in result)
        errors = "; ".join(f"{_signed(point.error_g)}" for point in result)
        yield Suspicion("warming up", f"zero after switch-on {said}; errors of {result[0].load_g} g {errors}")


def _temperature(part: _Part) -> Iterator[Suspicion]:
    result: tuple[AtTemperature, ...] = part.result
    for fault, is_loaded in (("span with temperature", True), ("zero with temperature", False)):
        failed = [outcome for outcome in part.failed if (outcome.load_g is not None) == is_loaded]
        if failed and result:
            worst = max(failed, key=lambda outcome: abs(outcome.value) / outcome.limit)
            yield Suspicion(fault, f"{worst.what}: {_signed(worst.value)}, allowed {_plain(worst.limit)}")


def _repeatability(part: _Part) -> Iterator[Suspicion]:
    series: tuple[Series, ...] = part.result
    for one in series:
        if one.spread_g > one.limit_g:
            seen = f"{len(one.indications_g)} weighings of {one.load_g} g spread over {_plain(one.spread_g)}"
            yield Suspicion("does not repeat", f"{seen}, allowed {_plain(one.limit_g)}")


_RULES: dict[type, Callable[[_Part], Iterator[Suspicion]]] = {
    RangeCheck: _range,
    ChangeoverTest: _changeover,
    EccentricityTest: _corner,
    CreepTest: _creep,
    TiltTest: _tilt,
    WarmUpTest: _warm_up,
    TemperatureTest: _temperature,
    RepeatabilityTest: _repeatability,
}


def _zero(parts: Sequence[_Part]) -> Iterator[Suspicion]:
    """The empty scale, through all tests that leave it as it is: one jump that stays, or a zero that wanders."""
    still = (TiltTest, WarmUpTest, TemperatureTest)
    zeros = [zero for part in parts if not isinstance(part.test, still) for zero in _zeros(part)]
    if len(zeros) < 2:
        return
    moved_g = max(zeros, key=lambda g: abs(g - zeros[0])) - zeros[0]
    if abs(moved_g) <= parts[0].scale.e_g / 2:
        return
    before_g, after_g = max(pairwise(zeros), key=lambda pair: abs(pair[1] - pair[0]))
    if abs(after_g - before_g) > abs(moved_g) * Fraction(3, 4) and abs(zeros[-1] - before_g) > abs(moved_g) / 2:
        yield Suspicion("zero shift", f"the zero jumped by {_signed(after_g - before_g)} and stayed there")
    else:
        yield Suspicion("moving zero", f"the zero moved by up to {_signed(moved_g)} in {len(zeros)} readings of it")


def _zeros(part: _Part) -> Iterator[Fraction]:
    is_empty = False
    for request, answer in part.answered:
        if isinstance(request, PlaceLoad):
            is_empty = not (request.load_g or request.added_g or request.ballast_g)
        if is_empty and isinstance(request, TakeStillReading) and isinstance(answer, StillReading):
            yield part.scale.fine_g(answer)


def _more(value_g: Fraction) -> str:
    return f"{_plain(abs(value_g))} {'more' if value_g > 0 else 'less'}"


def _plain(value_g: Fraction) -> str:
    return f"{float(value_g):.3g} g"


def _signed(value_g: Fraction) -> str:
    return f"{float(value_g):+.3g} g"


def _parts_of(slope: Fraction) -> str:
    return f"{float(abs(slope)) * 100:.2g} % {'high' if slope > 0 else 'low'}"
