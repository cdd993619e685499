"""Creep under a load and the return to zero after it, from a recording, against OIML R 76 or OIML R 60.

A reading is the mean over WINDOW_S, where the standards read one indication. The uncertainties are those of such means
by the noise between successive readings alone.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

import numpy as np

from scalewright.analysis.drift import Quantity
from scalewright.analysis.grams import mean_between
from scalewright.analysis.soak import SETTLE_S, Array, Dwell, Soak
from scalewright.errors import InputError
from scalewright.influence_limits import (
    CELL_CREEP_MINUTES,
    CREEP_MINUTES,
    CellClass,
    Check,
    creep_limit,
    long_creep_limit,
    zero_return_limit,
)
from scalewright.tolerances import AccuracyClass

WINDOW_S = 10.0
MINUTE_S = 60.0
_TEST_MIN = 30
_LONG_MIN = 240
_MEDIAN_OF_DIFFERENCES = 0.9539  # median |difference of two normal values of standard deviation 1|


@dataclass(frozen=True)
class CreepTest:
    """One load that stood for at least half an hour, as indications in grams."""

    load_g: float
    minutes: Array
    """since the load was put on, at the middle of each window"""
    indication_g: Array
    u_g: float
    """standard uncertainty of each, from noise"""
    zero_before_g: float | None
    """the empty scale just before; None where it was loaded all the time"""
    zero_after_g: float | None
    """the empty scale once it has settled after the load; None where the load stayed on"""
    temperature_range_c: tuple[float, float] | None

    def change(self, begins_min: float, ends_min: float) -> Quantity:
        """Return the greatest change of the indication from one moment until another, with its sign."""
        since = np.flatnonzero(self.minutes >= min(begins_min, self.minutes[-1]))[0]
        during = (self.minutes > self.minutes[since]) & (self.minutes <= ends_min + WINDOW_S / MINUTE_S)
        changes = self.indication_g[during] - self.indication_g[since]
        return Quantity(float(changes[np.argmax(np.abs(changes))]), self.u_g * sqrt(2))

    def difference(self, begins_min: float, ends_min: float) -> Quantity:
        """Return the indication at one moment less that at an earlier one."""
        first, last = (int(np.argmin(np.abs(self.minutes - minute))) for minute in (begins_min, ends_min))
        return Quantity(float(self.indication_g[last] - self.indication_g[first]), self.u_g * sqrt(2))

    def zero_return(self) -> Quantity | None:
        """Return how far from the zero before the zero after is; None where either was not recorded."""
        if self.zero_before_g is None or self.zero_after_g is None:
            return None
        return Quantity(self.zero_after_g - self.zero_before_g, self.u_g * sqrt(2))


def creep_test(soak: Soak, in_grams: Callable[[Array], Array], settle_s: float = SETTLE_S) -> CreepTest:
    """Return the test of the heaviest load that stood for half an hour.

    in_grams: indications of raw counts. Raises InputError where no load stood so long, with what is missing.
    """
    dwells = soak.dwells()
    place = _test_load(dwells)
    dwell = dwells[place]
    indication_g = in_grams(soak.counts)
    starts_s, means_g = _windows(soak, indication_g, dwell, settle_s)
    before_g = after_g = None
    if dwells[place - 1].load_g == 0:
        before_g = mean_between(soak, indication_g, dwell.start_s - WINDOW_S, dwell.start_s)
    if place + 1 < len(dwells) and dwells[place + 1].load_g == 0 and dwells[place + 1].duration_s > settle_s:
        after_s = dwells[place + 1].start_s + settle_s
        after_g = mean_between(soak, indication_g, after_s, after_s + WINDOW_S)
    per_window = WINDOW_S / float(np.median(np.diff(soak.time_s)))
    noise_g = float(np.median(np.abs(np.diff(indication_g[dwell.first : dwell.last])))) / _MEDIAN_OF_DIFFERENCES
    temperatures = soak.temperature_c[dwell.first : dwell.last]
    known = temperatures[np.isfinite(temperatures)]
    return CreepTest(
        dwell.load_g,
        (starts_s + WINDOW_S / 2 - dwell.start_s) / MINUTE_S,
        means_g,
        noise_g / sqrt(max(per_window, 1.0)),
        before_g,
        after_g,
        (float(known.min()), float(known.max())) if len(known) else None,
    )


def scale_checks(test: CreepTest, limits: AccuracyClass) -> list[Check]:
    """Return the creep and the zero return held against OIML R 76-1:2006, 3.9.4.

    A scale that fails in 30 min passes all the same where it keeps the limit of 4 h, if it was recorded for so long.
    """
    later_min, end_min = CREEP_MINUTES
    whole, later = test.change(0, end_min), test.difference(later_min, end_min)
    checks = [
        Check("creep in 30 min", whole.value, whole.u, creep_limit(limits, 0)),
        Check("creep from 15 to 30 min", later.value, later.u, creep_limit(limits, later_min)),
    ]
    if not all(check.passes for check in checks) and test.minutes[-1] >= _LONG_MIN - 1:
        long = test.change(0, _LONG_MIN)
        checks = [Check("creep in 4 h", long.value, long.u, long_creep_limit(limits, Fraction(test.load_g)))]
    back = test.zero_return()
    if back is not None:
        checks.append(Check("zero return after 30 min", back.value, back.u, zero_return_limit(limits)))
    return checks


def cell_checks(test: CreepTest, cell: CellClass) -> list[Check]:
    """Return the creep and the dead load output return held against OIML R 60-1:2021, 5.5."""
    later_min, end_min = CELL_CREEP_MINUTES
    load_g = Fraction(test.load_g)
    whole, later = test.change(0, end_min), test.difference(later_min, end_min)
    checks = [
        Check("creep in 30 min", whole.value, whole.u, cell.creep_limit(load_g, 0)),
        Check("creep from 20 to 30 min", later.value, later.u, cell.creep_limit(load_g, later_min)),
    ]
    back = test.zero_return()
    if back is not None:
        checks.append(Check("minimum dead load output return", back.value, back.u, cell.dead_load_return_limit()))
    return checks


def _test_load(dwells: tuple[Dwell, ...]) -> int:
    long = [k for k, dwell in enumerate(dwells) if k and dwell.load_g and dwell.duration_s >= _TEST_MIN * MINUTE_S - 1]
    if not long:
        raise InputError(
            "no load was put on during the recording and stood for 30 min",
            remedy="record the empty scale, 30 min of a load near Max, and the empty scale again",
        )
    return max(long, key=lambda k: (abs(dwells[k].load_g), dwells[k].duration_s))


def _windows(soak: Soak, values: Array, dwell: Dwell, settle_s: float) -> tuple[Array, Array]:
    """Return when each window begins, from the end of settling on, and the mean in it."""
    starts_s = np.arange(dwell.start_s + settle_s, dwell.end_s - WINDOW_S, WINDOW_S)
    first, last = np.searchsorted(soak.time_s, starts_s), np.searchsorted(soak.time_s, starts_s + WINDOW_S)
    sums = np.concatenate(([0.0], np.cumsum(values)))
    has_readings = last > first
    starts_s, first, last = starts_s[has_readings], first[has_readings], last[has_readings]
    return starts_s, np.asarray((sums[last] - sums[first]) / (last - first))
