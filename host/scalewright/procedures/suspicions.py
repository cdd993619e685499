"""What the results of a job point to, as faults with names.

The limits are those of the standards that the outcomes name; how figures beyond them are read is common practice.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any

from scalewright.errors import MeasurementError
from scalewright.procedures.calibration import AS_FOUND, AS_LEFT, Calibration
from scalewright.procedures.faults import Suspicion, signed
from scalewright.procedures.plans import Plan
from scalewright.procedures.requests import Answer, PlaceLoad, Request, StillReading, TakeStillReading
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import ScaleUnderTest
from scalewright.procedures.signs import Part, signs
from scalewright.procedures.temperature import TemperatureTest
from scalewright.procedures.tilt import TiltTest
from scalewright.procedures.warm_up import WarmUpTest
from shared_calc.coefficient_record import decode

_MOVE_THE_ZERO = TiltTest, WarmUpTest, TemperatureTest
_FIRST_OF_ALL = "does not repeat"


def suspicions(plan: Plan, run: Run[Any]) -> tuple[Suspicion, ...]:
    """Return what the tests that are through point to, of the scale as it is now; nothing where all is well.

    The job may still be open. Once the scale was adjusted, only what was found as left counts.
    """
    parts = list(_parts(plan, run)) if isinstance(plan, Calibration) else []
    found = [suspicion for part in parts for suspicion in signs(part)] or list(_moving(parts))
    unsteady = [suspicion for suspicion in found if suspicion.fault == _FIRST_OF_ALL]
    return tuple(dict.fromkeys(_without_noise(found) if unsteady else found))


def _without_noise(found: Sequence[Suspicion]) -> Iterator[Suspicion]:
    """What chance may have done is left out where the scale does not repeat."""
    by_chance = "corner error", "bad reference mass", "hysteresis", "wrong span", "bent"
    return (suspicion for suspicion in found if suspicion.fault not in by_chance)


def _parts(plan: Calibration, run: Run[Any]) -> Iterator[Part]:
    """Each test that is through, computed anew from its answers."""
    stored = [answer for _, answer in run.answered if isinstance(answer, bytes) and answer]
    is_adjusted = any(stage.title.startswith(AS_LEFT) for stage in run.stages)
    state, tests = (AS_LEFT, plan.as_left) if is_adjusted else (AS_FOUND, plan.as_found)
    answered = [(stage.title, each) for stage, each in run.parts if stage.title.startswith(state)]
    for test, (title, each) in zip(tests, answered, strict=False):
        scale = ScaleUnderTest(decode(stored[-1 if is_adjusted else 0]), plan.held)
        result = _result(test, scale, each)
        if result is not None:
            failed = [outcome for outcome in run.outcomes if outcome.stage == title and not outcome.passes]
            yield Part(test, result, scale, failed, each)


def _result(test: Any, scale: ScaleUnderTest, answered: Sequence[tuple[Request, Answer]]) -> Any:
    """None where the test is not through, or could not be carried through."""
    try:
        return Run(lambda: test.steps(scale), [answer for _, answer in answered]).result
    except MeasurementError:
        return None


def _moving(parts: Sequence[Part]) -> Iterator[Suspicion]:
    """The empty scale, through all tests that leave it as it is: one jump that stays, or a zero that wanders."""
    zeros = [zero for part in parts if not isinstance(part.test, _MOVE_THE_ZERO) for zero in _zeros(part)]
    if len(zeros) < 2:
        return
    moved_g = max(zeros, key=lambda g: abs(g - zeros[0])) - zeros[0]
    if abs(moved_g) <= parts[0].scale.e_g / 2:
        return
    before_g, after_g = max(pairwise(zeros), key=lambda pair: abs(pair[1] - pair[0]))
    if abs(after_g - before_g) > abs(moved_g) * Fraction(3, 4) and abs(zeros[-1] - before_g) > abs(moved_g) / 2:
        yield Suspicion("zero shift", f"the zero jumped by {signed(after_g - before_g)} and stayed there")
    else:
        yield Suspicion("moving zero", f"the zero moved by up to {signed(moved_g)} in {len(zeros)} readings of it")


def _zeros(part: Part) -> Iterator[Fraction]:
    is_empty = False
    for request, answer in part.answered:
        if isinstance(request, PlaceLoad):
            is_empty = not (request.load_g or request.added_g or request.ballast_g)
        if is_empty and isinstance(request, TakeStillReading) and isinstance(answer, StillReading):
            yield part.scale.fine_g(answer)
