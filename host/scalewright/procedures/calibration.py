"""Calibration of a scale as one job: prepared, tested as found, adjusted if so decided, tested as left."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from scalewright.errors import MeasurementError
from scalewright.procedures.adjustment import Adjustment, MultiPoint
from scalewright.procedures.changeover import ChangeoverTest
from scalewright.procedures.creep import CreepTest
from scalewright.procedures.discrimination import DiscriminationTest
from scalewright.procedures.eccentricity import EccentricityTest
from scalewright.procedures.outcomes import Outcome, Stage
from scalewright.procedures.preparation import Preparation
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.repeatability import RepeatabilityTest
from scalewright.procedures.requests import Ask
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import Held, ScaleUnderTest
from scalewright.procedures.substitution import SubstitutionTest
from scalewright.procedures.temperature import TemperatureTest
from scalewright.procedures.tilt import TiltTest
from scalewright.procedures.trimming import Trimming, TypeCurveTrim
from scalewright.procedures.warm_up import WarmUpTest
from scalewright.procedures.zero_and_tare import TareTest, ZeroSettingTest
from shared_calc.coefficient_record import CoefficientRecord, decode

Test = (
    RangeCheck
    | ChangeoverTest
    | RepeatabilityTest
    | EccentricityTest
    | DiscriminationTest
    | ZeroSettingTest
    | TareTest
    | SubstitutionTest
    | TiltTest
    | CreepTest
    | WarmUpTest
    | TemperatureTest
)
AS_FOUND, AS_LEFT = "as found", "as left"
ADJUST, LEAVE = "adjust", "leave as it is"


@dataclass(frozen=True)
class NotTested:
    """Stands for the result of a test that could not be carried through with the coefficients as found."""

    reason: str


@dataclass(frozen=True)
class CalibrationResult:
    """What a calibration ended in; the results stand in the order of the plan's tests."""

    as_found: tuple[Any, ...] | None
    """None where the device had no coefficients, so that there was nothing to test"""
    adjustment: Adjustment | Trimming | None
    """None where the scale was left as it was found"""
    as_left: tuple[Any, ...] | None
    """None where the scale was left as it was found: as found is then as left"""


@dataclass(frozen=True)
class Calibration:
    """Plan of the whole job. Without an adjustment it is a test of the scale as it is."""

    held: Held
    preparation: Preparation = field(default_factory=Preparation)
    as_found: tuple[Test, ...] = ()
    adjustment: MultiPoint | TypeCurveTrim | None = None
    asks_before_adjustment: bool = False
    """show what was found and let the person decide"""
    as_left: tuple[Test, ...] = ()

    @property
    def full_g(self) -> Decimal:
        """The heaviest load of the adjustment; 1 g where there is none."""
        return self.adjustment.full_g if self.adjustment else Decimal(1)

    def steps(self) -> Procedure[CalibrationResult]:
        """Go through the parts that there are. What was found is kept whatever becomes of the rest."""
        data = yield from self.preparation.steps(self.held.readings)
        record = decode(data) if data else None
        found = (yield from self._found(record)) if record else None
        if self.adjustment is None or not (yield from self._is_wanted()):
            return CalibrationResult(found, None, None)
        yield Stage(self.adjustment.title)
        adjusted = yield from self.adjustment.steps(record.compensation if record else None)
        left = yield from self._left(decode(adjusted.coefficients))
        return CalibrationResult(found, adjusted, left)

    def passed(self, outcomes: Sequence[Outcome]) -> bool:
        """Is the scale, as it is left, within its limits?"""
        return all(outcome.passes for outcome in last_state(outcomes))

    def _is_wanted(self) -> Procedure[bool]:
        if not self.asks_before_adjustment:
            return True
        answer = yield Ask("Adjust the scale now?", (ADJUST, LEAVE))
        return answer == ADJUST

    def _found(self, record: CoefficientRecord) -> Procedure[tuple[Any, ...]]:
        """Coefficients of another cell, say, may not reach the loads: that must not stop the adjustment."""
        results: list[Any] = []
        for test in self.as_found:
            yield Stage(f"{AS_FOUND}: {test.title}")
            try:
                results.append((yield from test.steps(ScaleUnderTest(record, self.held))))
            except MeasurementError as error:
                if self.adjustment is None:
                    raise
                results.append(NotTested(str(error)))
        return tuple(results)

    def _left(self, record: CoefficientRecord) -> Procedure[tuple[Any, ...]]:
        results = []
        for test in self.as_left:
            yield Stage(f"{AS_LEFT}: {test.title}")
            results.append((yield from test.steps(ScaleUnderTest(record, self.held))))
        return tuple(results)


def last_state(outcomes: Sequence[Outcome]) -> Iterator[Outcome]:
    """Iterate over what was found of the scale as it is left: as found, where it was not adjusted."""
    has_left = any(outcome.stage.startswith(AS_LEFT) for outcome in outcomes)
    return (o for o in outcomes if not has_left or o.stage.startswith(AS_LEFT))
