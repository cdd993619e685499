"""How long a plan is: it is gone through with a scale that is perfect, before anything is put on the real one."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

from scalewright.procedures.plans import Plan
from scalewright.procedures.requests import (
    Answer,
    Ask,
    ClearZeroAndTare,
    Indication,
    Moment,
    PlaceLoad,
    ReadCoefficients,
    Request,
    Restart,
    SetAir,
    SetTare,
    SetZero,
    StillReading,
    StoreCoefficients,
    TakeIndication,
    TakeReading,
    TakeStillReading,
    TiltScale,
    WaitUntil,
)
from scalewright.procedures.run import Run
from scalewright.procedures.scale_under_test import counts_at, division_of
from shared_calc.coefficient_record import decode
from shared_calc.rounding import format_divisions
from shared_calc.temperature import PARTS_OF_A_DEGREE

_HAND_MS = 5_000  # to change a load (common practice)
_TILT_MS = 60_000  # to put the scale out of level (common practice)
_AIR_MS = 3_600_000  # to warm or cool a chamber (common practice)
_FULL_COUNTS = 2_000_000  # of the perfect cell at full load, where the device has no coefficients to say


@dataclass(frozen=True)
class Outline:
    """What a plan takes on a scale where nothing goes wrong."""

    requests: int
    readings: int
    """how many requests are for a reading"""
    duration_s: float
    stages: tuple[str, ...] = ()
    """titles of its parts, in their order"""


class PerfectScale:
    """Answers every request as a scale without error would. `time_ms` is its clock."""

    def __init__(self, coefficients: bytes, full_g: Decimal, readings_per_s: float) -> None:
        self._coefficients = coefficients
        self._full_g = full_g
        self._ms_per_reading = 1000 / readings_per_s
        self._load_g = Decimal(0)
        self._taken_off_g = Decimal(0)
        self.time_ms = 0.0

    def answer(self, request: Request) -> Answer:
        """Return the answer, and let the time pass that it takes."""
        match request:
            case PlaceLoad(load_g, added_g=added_g, ballast_g=ballast_g):
                self._load_g = load_g + added_g + ballast_g
                self.time_ms += _HAND_MS
            case TiltScale():
                self.time_ms += _TILT_MS
            case SetAir():
                self.time_ms += _AIR_MS
            case TakeStillReading(readings) | TakeReading(readings):
                self.time_ms += 2 * readings * self._ms_per_reading
                counts_sum = readings * self._counts()
                return StillReading(counts_sum, readings, 0, round(self.time_ms), self._temperature_c())
            case TakeIndication(readings):
                self.time_ms += 2 * readings * self._ms_per_reading
                return Indication(self._shown_g(), self._counts(), round(self.time_ms))
            case WaitUntil(time_ms):
                self.time_ms = max(self.time_ms, time_ms)
                return Moment(round(self.time_ms))
            case SetZero() | SetTare():
                self._taken_off_g = self._load_g
            case ClearZeroAndTare():
                self._taken_off_g = Decimal(0)
            case Ask(choices=choices):
                return choices[0] if choices else "-"
            case Restart():
                self.time_ms, self._taken_off_g = 0.0, Decimal(0)
            case StoreCoefficients(data):
                self._coefficients = data
                return data
            case ReadCoefficients():
                return self._coefficients
        return None

    def _counts(self) -> int:
        if self._coefficients:
            counts = counts_at(decode(self._coefficients), Fraction(self._load_g))
            if counts is not None:
                return counts
        return round(self._load_g * _FULL_COUNTS / self._full_g)

    def _temperature_c(self) -> Decimal | None:
        """That at which nothing needs to be compensated for."""
        compensation = decode(self._coefficients).compensation if self._coefficients else None
        return Decimal(compensation.fields[0]) / PARTS_OF_A_DEGREE if compensation else None

    def _shown_g(self) -> Decimal:
        record = decode(self._coefficients)
        divisions = floor(Fraction(self._load_g - self._taken_off_g) / division_of(record) + Fraction(1, 2))
        return Decimal(format_divisions(divisions, record.mantissa, record.power_of_ten))


def rehearse(plan: Plan, coefficients: bytes = b"", readings_per_s: float = 10.0) -> Outline:
    """Return what the plan takes. coefficients: the encoded record that the device has, none where it has none."""
    scale = PerfectScale(coefficients, plan.full_g, readings_per_s)
    run: Run[Any] = Run(plan.steps)
    duration_ms = 0.0
    while run.request is not None:
        request, before_ms = run.request, scale.time_ms
        run.answer(scale.answer(request))
        duration_ms += request.off_s * 1000 if isinstance(request, Restart) else scale.time_ms - before_ms
    readings = sum(isinstance(request, TakeStillReading | TakeReading) for request, _ in run.answered)
    return Outline(len(run.answered), readings, duration_ms / 1000, tuple(stage.title for stage in run.stages))
