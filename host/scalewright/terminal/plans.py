"""What a person fills in before a job, as a plan."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from scalewright.equipment import PANS, Limits, RegisteredScale
from scalewright.errors import InputError
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign, division_from
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.daily_check import DailyCheck
from scalewright.procedures.loads import ends, up_and_down
from scalewright.procedures.preparation import Preparation
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.requests import Load
from scalewright.procedures.scale_under_test import Held, division_of
from scalewright.procedures.verification import ToVerify, chosen, min_of
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord

CHECKS = ("level the scale, clear and clean the pan, and see that nothing touches it",)
Make = Callable[[Decimal], Load]
"""Makes the load of a nominal value. Raises InputError."""
DEGREE = 3  # a cubic takes the usual bend of a cell out; virtual_scale/load_cell.py has the figures


@dataclass(frozen=True)
class Form:
    """As typed."""

    max_g: str = "3000"
    division_g: str = "1"
    accuracy_class: str = "III"
    steps: str = "10"
    readings: str = "16"

    def limits(self) -> AccuracyClass:
        """Return the class. Raises InputError where Max and e make no scale of it."""
        limits = AccuracyClass(self.accuracy_class, Fraction(_grams(self.division_g, "d")))
        limits.permissible_error_g(Fraction(_grams(self.max_g, "Max")))
        return limits

    def objections(self) -> list[str]:
        """Return what keeps a scale of this class from existing by the standard: worth a word, no reason to stop."""
        return self.limits().objections(Fraction(_grams(self.max_g, "Max")))

    def loads(self, make: Make = Load) -> tuple[Load, ...]:
        """Return even loads up to Max and down again."""
        nominal = up_and_down(_grams(self.max_g, "Max"), _whole(self.steps, "loads"))
        return tuple(make(load.load_g) for load in nominal)

    def held(self) -> Held:
        """Return what the scale is held against, and how it is read."""
        return Held(self.limits(), readings=_whole(self.readings, "readings"))

    def calibration(self, make: Make = Load, *, asks: bool) -> Calibration:
        """Return the whole job: as found, adjustment, as left. asks: before the adjustment. Raises InputError."""
        loads, held = self.loads(make), self.held()
        division = division_from(_grams(self.division_g, "d"), f"d {self.division_g}")
        design = ScaleDesign(_grams(self.max_g, "Max"), division, min(DEGREE, len(loads) // 2))
        tests = (RangeCheck(loads),)
        return Calibration(
            held,
            Preparation(exercise=ends(loads)[1]),
            as_found=tests,
            adjustment=MultiPoint(design, loads, held.readings),
            asks_before_adjustment=asks,
            as_left=tests,
        )


@dataclass(frozen=True)
class TestForm:
    """As typed, for a scale that is calibrated."""

    __test__ = False  # for pytest, which would take it for one of its own by its name

    names: tuple[str, ...]
    """tests, of procedures.verification.TESTS"""
    accuracy_class: str = "III"
    steps: str = "5"
    times: str = "5"
    readings: str = "16"
    check_masses_g: str = "500, 2000"
    registered: RegisteredScale | None = None
    """which it is; what is registered of its limits, its Min and its pan goes before what is typed"""

    def test(self, record: CoefficientRecord, make: Make = Load) -> Calibration:
        """Return a test of the scale as it is. Raises InputError."""
        if not self.names:
            raise InputError("no test is ticked; expected at least one")
        held = Held(self._limits(record), readings=_whole(self.readings, "readings"))
        to_verify = ToVerify(
            _max_of(record),
            (self.registered and self.registered.min_g) or min_of(held.limits, division_of(record)),
            self.registered.pan if self.registered else PANS[0],
            self.registered.supports if self.registered else 4,
            make,
            _whole(self.steps, "loads"),
            _whole(self.times, "weighings in a series"),
        )
        tests = chosen(self.names, to_verify)
        return Calibration(held, Preparation(CHECKS, exercise=make(_max_of(record))), tests)

    def daily_check(self, record: CoefficientRecord, make: Make = Load) -> DailyCheck:
        """Return the check with one or two masses, against the limits for a scale in use. Raises InputError."""
        masses_g = [_grams(text.strip(), "check mass") for text in self.check_masses_g.split(",")]
        if max(masses_g) > _max_of(record):
            raise InputError(f"check mass {max(masses_g)} g; expected at most Max, {_max_of(record)} g")
        held = Held(self._limits(record), in_service=True, readings=_whole(self.readings, "readings"))
        return DailyCheck(held, tuple(make(mass_g) for mass_g in masses_g))

    def _limits(self, record: CoefficientRecord) -> Limits:
        if self.registered:
            return self.registered.limits
        limits = AccuracyClass(self.accuracy_class, division_of(record))
        limits.permissible_error_g(Fraction(_max_of(record)))
        return limits


def _max_of(record: CoefficientRecord) -> Decimal:
    return Decimal(record.max_divisions * record.mantissa).scaleb(record.power_of_ten)


def _grams(text: str, name: str) -> Decimal:
    try:
        value = Decimal(text)
    except InvalidOperation:
        value = Decimal(0)
    if not value.is_finite() or value <= 0:
        raise InputError(f"{name} {text!r}; expected a mass in grams above 0")
    return value


def _whole(text: str, name: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise InputError(f"number of {name} {text!r}; expected a whole number from 1")
    return int(text)
