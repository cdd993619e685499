"""Jobs of an invented scale as the journal keeps them, without doing them: plan and result are what procedures give."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from scalewright.plain import plain
from scalewright.procedures.adjustment import Adjustment, MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration, CalibrationResult
from scalewright.procedures.daily_check import CheckedMass, DailyCheck
from scalewright.procedures.job import PROCEDURES_VERSION, Circumstances, jobs_of
from scalewright.procedures.range_check import RangeCheck, Step
from scalewright.procedures.requests import Load
from scalewright.procedures.scale_under_test import Held
from scalewright.records.journal import Journal
from scalewright.tolerances import AccuracyClass

LIMITS = AccuracyClass("III", Fraction(1))
HELD = Held(LIMITS)
MAX_G = Decimal(3000)
LOADS_G = tuple(map(Decimal, (0, 1000, 3000, 1000, 0)))
LOADS = tuple(Load(load_g, ("piece",), load_g / 200_000) for load_g in LOADS_G)
DESIGN = ScaleDesign(MAX_G, (1, 0), 1)
Errors = Sequence[str]


@dataclass(frozen=True)
class Past:
    """A journal that jobs of one scale are put into."""

    journal: Journal
    scale: str = "PLOVER-3"

    def calibration(self, at: datetime, found: Errors, left: Errors | None = None, **results: Any) -> str:
        """Put in a calibration that found and left these errors at LOADS; left None: nothing was adjusted."""
        adjustment = MultiPoint(DESIGN, LOADS, 16) if left else None
        plan = Calibration(HELD, as_found=(RangeCheck(LOADS),), adjustment=adjustment, as_left=(RangeCheck(LOADS),))
        result = CalibrationResult(
            as_found=(steps(found),),
            adjustment=Adjustment((), b"\x01") if left else None,
            as_left=(steps(left),) if left else None,
        )
        passed = all(step.passes for step in steps(left or found))
        return self.job(plan, result, at, passed)

    def daily_check(self, at: datetime, error_g: str, coefficients: str = "CAFE0001", load_g: int = 1000) -> str:
        """Put in a daily check with one mass."""
        checked = CheckedMass(Decimal(load_g), Decimal(load_g), Fraction(error_g), limit_g(Decimal(load_g)))
        plan = DailyCheck(HELD, (Load(Decimal(load_g)),))
        return self.job(plan, (checked,), at, abs(checked.error_g) <= checked.limit_g, coefficients)

    def job(self, plan: Any, result: Any, at: datetime, passed: bool, coefficients: str = "CAFE0001") -> str:
        """Put in a job that began and ended."""
        name = f"{jobs_of(self.scale, type(plan))}{at:%Y%m%dT%H%M%SZ}-00000000"
        device = {"model": "virtual", "serial_number": "PLOVER", "firmware": "0.1.0", "events": 3}
        device |= {"coefficients": coefficients}
        begun = {
            "plan": plan,
            "procedures_version": PROCEDURES_VERSION,
            "device": device | {"coefficients": coefficients},
        }
        begun |= {"procedure": type(plan).__name__, "circumstances": Circumstances(scale=self.scale)}
        self.journal.append("job.begun", name, plain(begun), at)
        ended = {"result": result, "outcomes": (), "passed": passed, "device": device}
        self.journal.append("job.ended", name, plain(ended), at)
        return name


def steps(errors: Errors) -> tuple[Step, ...]:
    """Return the result of a range check at LOADS."""
    directions = ("up", "up", "up", "down", "down")
    return tuple(
        Step(load_g, direction, load_g, Fraction(error), limit_g(load_g))
        for load_g, direction, error in zip(LOADS_G, directions, errors, strict=True)
    )


def limit_g(load_g: Decimal) -> Fraction:
    return LIMITS.permissible_error_g(Fraction(load_g))
