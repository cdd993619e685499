"""What a scale did between two calibrations: its errors as found, less its errors as left the last time."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import fsum, inf, sqrt

from scalewright.errors import InputError

K = 2.0
"""coverage factor of every expanded uncertainty here"""
DAYS_A_YEAR = 365.2425
_SAME_LOAD = 0.01
"""loads that differ by a smaller part are one load, put together from other masses"""


@dataclass(frozen=True)
class ErrorAtLoad:
    """An error of indication."""

    load_g: float
    error_g: float
    u_g: float
    """standard uncertainty of error_g, above 0"""
    limit_g: float | None = None
    """its tolerance; None where there is none"""
    direction: str = ""
    """whether the load was reached from below (up) or from above (down); empty where it makes no difference"""

    def __post_init__(self) -> None:
        if not 0 < self.u_g < inf:
            raise InputError(f"error at {self.load_g:g} g: u = {self.u_g:g} g; expected above 0")

    @property
    def is_within(self) -> bool:
        """Is it within its tolerance?"""
        return self.limit_g is None or abs(self.error_g) <= self.limit_g


@dataclass(frozen=True)
class Drift:
    """How an error changed."""

    left: ErrorAtLoad
    found: ErrorAtLoad
    years: float
    u_shared_g: float
    """part of the uncertainty of either that both have in common, so that it is not in their difference"""

    @property
    def drift_g(self) -> float:
        return self.found.error_g - self.left.error_g

    @property
    def u_drift_g(self) -> float:
        """Standard uncertainty of the difference (JCGM 100:2008, 5.2.2: what is common cancels)."""
        return sqrt(max(self.left.u_g**2 + self.found.u_g**2 - 2 * self.u_shared_g**2, 0.0))

    @property
    def en(self) -> float:
        """The drift over its expanded uncertainty, k = 2 (ISO/IEC 17043:2010, B.3.1.3, En number; from memory)."""
        return self.drift_g / (K * self.u_drift_g)

    @property
    def is_significant(self) -> bool:
        """Is it more than the measurements leave open?"""
        return abs(self.en) > 1

    @property
    def per_year_g(self) -> float:
        return self.drift_g / self.years


def as_found_drift(
    left: Sequence[ErrorAtLoad], found: Sequence[ErrorAtLoad], days: int, u_shared_relative: float = 0.0
) -> list[Drift]:
    """Return the drift at every load that both calibrations have, by direction.

    days: between the two. u_shared_relative: standard uncertainty that both share, as a part of the load: of the same
    masses with the same certificate. Raises InputError where there is no time between them, or more is shared than
    either has.
    """
    if days <= 0:
        raise InputError(f"{days} days between the calibrations; expected one or more")
    return [
        Drift(before, after, days / DAYS_A_YEAR, _shared(before, after, u_shared_relative))
        for before, after in _pairs(left, found)
    ]


def _shared(before: ErrorAtLoad, after: ErrorAtLoad, u_shared_relative: float) -> float:
    shared_g = u_shared_relative * after.load_g
    if not 0 <= shared_g < min(before.u_g, after.u_g):
        raise InputError(f"shared uncertainty {shared_g:g} g at {after.load_g:g} g; expected less than u of either")
    return shared_g


def _pairs(left: Sequence[ErrorAtLoad], found: Sequence[ErrorAtLoad]) -> Iterator[tuple[ErrorAtLoad, ErrorAtLoad]]:
    for after in found:
        same = [before for before in left if before.direction == after.direction]
        nearest = min(same, key=lambda before: abs(before.load_g - after.load_g), default=None)
        if nearest and is_same_load(nearest.load_g, after.load_g):
            yield nearest, after


def is_same_load(one_g: float, other_g: float) -> bool:
    """Are these one test load, if perhaps put together from other masses?"""
    return abs(one_g - other_g) <= _SAME_LOAD * max(one_g, other_g)


@dataclass(frozen=True)
class Rate:
    """How fast an error changes."""

    per_year_g: float
    u_per_year_g: float
    """standard uncertainty; where the drifts disagree by more than their uncertainties, by as much as they do"""
    drifts: int
    """how many it is drawn from"""

    @property
    def is_significant(self) -> bool:
        return abs(self.per_year_g) > K * self.u_per_year_g


def drift_rate(drifts: Sequence[Drift]) -> Rate:
    """Return the steady rate through the drifts of one load: weighted least squares through zero.

    The drifts are taken as independent. Where nothing was adjusted in between, two that follow one another share a
    calibration with opposite signs, and the uncertainty is then rather too large. Scatter beyond the uncertainties
    widens it (Birge ratio). Raises InputError without drifts.
    """
    if not drifts:
        raise InputError("no drift to draw a rate from; expected one or more")
    weights = [1 / drift.u_drift_g**2 for drift in drifts]
    total = fsum(w * d.years**2 for w, d in zip(weights, drifts, strict=True))
    rate = fsum(w * d.years * d.drift_g for w, d in zip(weights, drifts, strict=True)) / total
    chi_squared = fsum(w * (d.drift_g - rate * d.years) ** 2 for w, d in zip(weights, drifts, strict=True))
    birge = sqrt(chi_squared / (len(drifts) - 1)) if len(drifts) > 1 else 1.0
    return Rate(rate, max(birge, 1.0) / sqrt(total), len(drifts))
