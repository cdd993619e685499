"""When to calibrate next, by the methods of ILAC-G24:2022 / OIML D 10:2022, clause 6 (from memory; titles read).

    6.2  staircase           by how the scale was found: a longer interval, the same, or a shorter one
    6.3  control chart       by the drift of its errors: before drift and uncertainty reach the limit
    6.4  in-use time         not here: the records do not know how long a scale was used
    6.5  in-service checking a daily check outside its limit: now

The guide leaves shares and steps to the laboratory; the values here are defaults to be set by whoever answers for them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor, inf, sqrt

from scalewright.analysis.as_found_drift import DAYS_A_YEAR, ErrorAtLoad, K, Rate
from scalewright.equipment import months_later
from scalewright.errors import InputError

STAIRCASE = "staircase (ILAC-G24:2022 / OIML D 10:2022, 6.2)"
DRIFT = "drift of the errors (ILAC-G24:2022 / OIML D 10:2022, 6.3)"
IN_SERVICE = "in-service check (ILAC-G24:2022 / OIML D 10:2022, 6.5)"
_CENTURY_DAYS = 36525


@dataclass(frozen=True)
class IntervalRules:
    """How a laboratory chooses its intervals."""

    ladder_months: tuple[int, ...] = (1, 2, 3, 6, 9, 12, 18, 24, 36)
    """the intervals there are; the staircase goes one step at a time"""
    first_months: int = 12
    """the interval of a scale that has no history"""
    lengthen_within: float = 0.8
    """share of the limit that no error as found may pass if the interval is to grow (the guide's example)"""

    def __post_init__(self) -> None:
        rises = all(a < b for a, b in zip((0, *self.ladder_months), self.ladder_months, strict=False))
        if not (self.ladder_months and rises and self.first_months >= 1):
            raise InputError(f"intervals {self.ladder_months} months; expected one or more, rising from 1")
        if not 0 < self.lengthen_within <= 1:
            raise InputError(f"lengthen within {self.lengthen_within:g} of the limit; expected above 0 and up to 1")

    def within(self, months: int) -> int:
        """Return the interval, no shorter and no longer than the ladder."""
        return min(max(months, self.ladder_months[0]), self.ladder_months[-1])

    def longer(self, months: int) -> int:
        """Return the next step up; the last where there is none."""
        return next((step for step in self.ladder_months if step > months), self.ladder_months[-1])

    def shorter(self, months: int) -> int:
        """Return the next step down; the first where there is none."""
        return next((step for step in reversed(self.ladder_months) if step < months), self.ladder_months[0])


@dataclass(frozen=True)
class Proposal:
    """A day to calibrate by, and why."""

    due: date
    """the last day"""
    method: str
    reason: str


def first_interval(calibrated: date, interval_months: int, rules: IntervalRules) -> Proposal:
    """Return the proposal for a scale that was calibrated once, and is to be again after the first interval."""
    months = rules.within(interval_months)
    reason = f"no earlier calibration to compare with: the first interval, {months} months"
    return Proposal(months_later(calibrated, months), STAIRCASE, reason)


def staircase(
    before: date, calibrated: date, interval_months: int, found: Sequence[ErrorAtLoad], rules: IntervalRules
) -> Proposal:
    """Return the proposal after a calibration, by the errors it found.

    before: the calibration before it; interval_months: what was planned between the two. Any error outside its limit:
    one step shorter. All within the stated share of it: one step longer, if the interval was lived through to at least
    nine tenths. Else the same. Raises InputError where no error found has a limit.
    """
    shares = [(round(abs(error.error_g) / error.limit_g, 9), error) for error in found if error.limit_g]
    if not shares:
        raise InputError("no error as found has a limit; the staircase needs one")
    share, worst = max(shares, key=lambda pair: pair[0])
    months = rules.within(interval_months)
    what = f"the largest error as found was {share:.0%} of its limit (at {worst.load_g:g} g)"
    if not worst.is_within:
        months, verdict = rules.shorter(months), "outside it, so one step shorter"
    elif share > rules.lengthen_within:
        verdict = f"between {rules.lengthen_within:.0%} and all of it, so the same interval"
    elif (calibrated - before).days < 0.9 * (months_later(before, months) - before).days:
        verdict = "but the interval was cut short, so it stays"
    else:
        months, verdict = rules.longer(months), f"within {rules.lengthen_within:.0%} of it, so one step longer"
    return Proposal(months_later(calibrated, months), STAIRCASE, f"{what}, {verdict}: {months} months")


def by_drift(calibrated: date, left: Sequence[tuple[ErrorAtLoad, Rate]], rules: IntervalRules) -> Proposal | None:
    """Return the last day on which no error can be expected beyond its limit; None where no error has a limit.

    left: errors as left with the rate of each. The error expected is a straight line from there; its uncertainty
    grows with that of the rate. Kept within the first and the last step of the ladder.
    """
    days = [(days_to_limit(error, rate), error, rate) for error, rate in left if error.limit_g]
    if not days:
        return None
    first, error, rate = min(days, key=lambda found: found[0])
    where = f"{rate.per_year_g:+.3g} g a year at {error.load_g:g} g (U = {K * rate.u_per_year_g:.2g} g a year, k = 2)"
    shortest, longest = (months_later(calibrated, rules.ladder_months[end]) for end in (0, -1))
    if first > (longest - calibrated).days:
        return Proposal(longest, DRIFT, f"{where}: within the limit beyond the longest interval, which holds")
    reached = f"{where}: drift and uncertainty reach the limit of {error.limit_g:g} g after {first} days"
    due = calibrated + timedelta(days=first)
    if due < shortest:
        return Proposal(shortest, DRIFT, f"{reached}, before the shortest interval: adjust it nearer, or repair it")
    return Proposal(due, DRIFT, reached)


def days_to_limit(error: ErrorAtLoad, rate: Rate) -> int:
    """Return after how many whole days |error expected| + 2 u is still within the limit; a century at most.

    Between the limits the expanded interval is a hyperbola about a straight line, so that for either side the day is
    the first root of a quadratic. 0 where the error as left reaches the limit already.
    """
    assert error.limit_g is not None
    years = min(
        _years_to(error.limit_g - side * error.error_g, side * rate.per_year_g, error.u_g, rate.u_per_year_g)
        for side in (1, -1)
    )
    return floor(min(years * DAYS_A_YEAR, _CENTURY_DAYS))


def _years_to(room_g: float, rate: float, u_g: float, u_rate: float) -> float:
    """Return the first t from 0 with rate t + K sqrt(u_g**2 + (u_rate t)**2) = room_g; infinite where there is none.

    Squaring room_g - rate t = K sqrt(...) gives (rate**2 - (K u_rate)**2) t**2 - 2 rate room_g t + c = 0. Its other
    root, if above 0, is one that squaring brings in; this form of the first loses no digits.
    """
    c = room_g**2 - (K * u_g) ** 2
    if room_g <= 0 or c <= 0:
        return 0.0
    divisor = rate * room_g + K * sqrt(u_rate**2 * c + (rate * u_g) ** 2)
    return c / divisor if divisor > 0 else inf


def failed_check(checked: date) -> Proposal:
    """Return the proposal after a daily check outside its limit."""
    return Proposal(checked, IN_SERVICE, f"the check on {checked} was outside its limit: calibrate before further use")


def earliest(proposals: Sequence[Proposal]) -> Proposal:
    """Return the proposal with the earliest day; of the same day the first."""
    return min(proposals, key=lambda proposal: proposal.due)
