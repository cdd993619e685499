"""How far temperature and time may move an indication (OIML R 76) or the output of a load cell (OIML R 60).

R 76 clauses and figures are from memory; R 60 ones from its text.
"""

from dataclasses import dataclass
from fractions import Fraction

from scalewright.errors import InputError
from scalewright.tolerances import AccuracyClass

R76_RANGE_C = (-10, 40)
"""what a scale without a marked range must bear (OIML R 76-1:2006, 3.9.2.1)"""
CREEP_MINUTES = (15, 30)
"""the creep of a scale is judged over 30 min, and from 15 to 30 min (3.9.4.1)"""
CELL_CREEP_MINUTES = (20, 30)
_CELL_BANDS_V = {"A": (50_000, 200_000), "B": (5_000, 20_000), "C": (500, 2_000), "D": (50, 200)}


@dataclass(frozen=True)
class Limit:
    """A limit in grams, and where it stands."""

    limit_g: Fraction
    source: str


@dataclass(frozen=True)
class Check:
    """A change of indication held against its limit."""

    what: str
    change_g: float
    u_g: float
    """standard uncertainty of the change (k = 1)"""
    limit: Limit

    @property
    def passes(self) -> bool:
        """Is the change itself within the limit?"""
        return abs(self.change_g) <= float(self.limit.limit_g)


def no_load_degrees(limits: AccuracyClass) -> int:
    """Return in how many C the indication at no load may change by e (OIML R 76-1:2006, 3.9.2.3)."""
    return 1 if limits.name == "I" else 5


def no_load_limit(limits: AccuracyClass) -> Limit:
    """Return how far the indication at no load may change in so many degrees."""
    return Limit(limits.e_g, f"OIML R 76-1:2006, 3.9.2.3, class {limits.name}")


def span_limit(limits: AccuracyClass, load_g: Fraction) -> Limit:
    """Return the limit of the error at a load and any temperature of the range (OIML R 76-1:2006, 3.9.2, 3.5.1)."""
    error_g = limits.permissible_error_g(load_g)
    return Limit(error_g, f"OIML R 76-1:2006, 3.9.2 and table 6, class {limits.name}")


def tilted_no_load_limit(limits: AccuracyClass) -> Limit:
    """Return how far the zero may move when the scale is put out of level (OIML R 76-1:2006, 3.9.1.1)."""
    return Limit(2 * limits.e_g, f"OIML R 76-1:2006, 3.9.1.1, class {limits.name}")


def creep_limit(limits: AccuracyClass, begins_min: int) -> Limit:
    """Return the limit of the change of indication under load, to 30 min after loading.

    begins_min: 0, from when the load was put on, or 15.
    """
    share = Fraction(1, 5) if begins_min else Fraction(1, 2)
    return Limit(share * limits.e_g, f"OIML R 76-1:2006, 3.9.4.1, class {limits.name}")


def long_creep_limit(limits: AccuracyClass, load_g: Fraction) -> Limit:
    """Return the limit of the change in 4 h, for a scale that does not keep those of 30 min."""
    return Limit(limits.permissible_error_g(load_g), f"OIML R 76-1:2006, 3.9.4.1, class {limits.name}")


def zero_return_limit(limits: AccuracyClass) -> Limit:
    """Return the limit of the deviation from zero after half an hour under load."""
    return Limit(limits.e_g / 2, f"OIML R 76-1:2006, 3.9.4.2, class {limits.name}")


@dataclass(frozen=True)
class CellClass:
    """The limits of one OIML R 60 accuracy class for a load cell with n verification intervals."""

    name: str
    """A, B, C or D"""
    capacity_g: Fraction
    intervals: int
    apportioning: Fraction = Fraction(7, 10)
    """p_LC (OIML R 60-1:2021, table 4)"""

    def __post_init__(self) -> None:
        if self.name not in _CELL_BANDS_V:
            raise InputError(f"load-cell class {self.name!r}, expected one of {', '.join(_CELL_BANDS_V)}")
        if self.capacity_g <= 0 or self.intervals < 1:
            raise InputError("a load cell has a capacity above 0 g and at least 1 interval")

    @property
    def v_g(self) -> Fraction:
        """The verification interval."""
        return self.capacity_g / self.intervals

    def permissible_error_g(self, load_g: Fraction) -> Fraction:
        """Return the maximum permissible error at a load (OIML R 60-1:2021, 5.3.2 and table 4)."""
        halves = 1 + sum(abs(load_g) > band * self.v_g for band in _CELL_BANDS_V[self.name])
        return self.apportioning * Fraction(halves, 2) * self.v_g

    def creep_limit(self, load_g: Fraction, begins_min: int) -> Limit:
        """Return the limit of the change under load to 30 min after loading; begins_min: 0 or 20."""
        share = Fraction(15, 100) if begins_min else Fraction(7, 10)
        return Limit(share * self.permissible_error_g(load_g), f"OIML R 60-1:2021, 5.5.1, class {self.name}")

    def dead_load_return_limit(self) -> Limit:
        """Return the limit of the change of the output at minimum dead load over the creep test."""
        return Limit(self.v_g / 2, f"OIML R 60-1:2021, 5.5.2, class {self.name}")
