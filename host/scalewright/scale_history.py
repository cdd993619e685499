"""What became of a scale: its drift between calibrations, its daily checks on a chart, and when it is due next.

No I/O: records.history reads the calibrations and checks from the journal, or anyone may make them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from itertools import pairwise

from scalewright.analysis.as_found_drift import Drift, ErrorAtLoad, Rate, as_found_drift, drift_rate, is_same_load
from scalewright.analysis.control_chart import (
    DEFAULT_RULES,
    LEAST_CHECKS,
    USUAL_CHECKS,
    BaseLine,
    ControlChart,
    base_line,
    control_chart,
)
from scalewright.analysis.recalibration_interval import (
    IntervalRules,
    Proposal,
    by_drift,
    earliest,
    failed_check,
    first_interval,
    staircase,
)


@dataclass(frozen=True)
class PastCalibration:
    """A calibration that ended."""

    job: str
    at: datetime
    """when it ended"""
    found: tuple[ErrorAtLoad, ...]
    """as found; none where there was nothing to test"""
    left: tuple[ErrorAtLoad, ...]
    """as left; as found where nothing was adjusted"""
    is_adjusted: bool

    @property
    def on(self) -> date:
        return self.at.date()


@dataclass(frozen=True)
class PastCheck:
    """One load of a daily check."""

    job: str
    at: datetime
    load_g: float
    error_g: float
    """the mean, where the load was put on several times"""
    limit_g: float | None
    coefficients: str = ""
    """names the coefficients that the scale weighed with: with others it is another chart"""

    @property
    def is_within(self) -> bool:
        return self.limit_g is None or abs(self.error_g) <= self.limit_g


@dataclass(frozen=True)
class Period:
    """The time from one calibration to the next."""

    before: PastCalibration
    after: PastCalibration
    drifts: tuple[Drift, ...]
    doubt: str
    """what follows from how the scale was found; empty where it was within its limits"""


@dataclass(frozen=True)
class LoadChart:
    """The daily checks at one load since the coefficients were last changed."""

    checks: tuple[PastCheck, ...]
    chart: ControlChart | None
    """None while there are fewer than LEAST_CHECKS, or they do not scatter"""

    @property
    def load_g(self) -> float:
        return self.checks[-1].load_g

    @property
    def is_in_order(self) -> bool:
        """Is the newest check within its tolerance, and nothing out of the ordinary about it?"""
        return self.checks[-1].is_within and not (self.chart and self.chart.newest_signals)


@dataclass(frozen=True)
class ScaleHistory:
    """A scale's calibrations and checks, each in order of time, and what is to be read from them."""

    calibrations: tuple[PastCalibration, ...]
    checks: tuple[PastCheck, ...]
    interval_months: int | None = None
    """planned from one calibration to the next; None: the first interval of the rules"""
    rules: IntervalRules = field(default_factory=IntervalRules)

    @cached_property
    def periods(self) -> tuple[Period, ...]:
        """The time between calibrations, the oldest first; two on one day have nothing between them."""
        return tuple(
            Period(a, b, tuple(as_found_drift(a.left, b.found, (b.on - a.on).days)), _doubt(a, b, self.checks))
            for a, b in pairwise(self.calibrations)
            if a.on < b.on
        )

    def charts(
        self,
        base_checks: int = USUAL_CHECKS,
        base: BaseLine | None = None,
        rules: Sequence[str] = DEFAULT_RULES,
    ) -> list[LoadChart]:
        """Return a chart for each load of the last check's coefficients; base: in place of the first base_checks."""
        if not self.checks:
            return []
        same = [check for check in self.checks if check.coefficients == self.checks[-1].coefficients]
        return [LoadChart(tuple(group), _chart(group, base_checks, base, rules)) for group in _by_load(same)]

    @cached_property
    def rates(self) -> list[tuple[ErrorAtLoad, Rate]]:
        """Each error as last left that has drifted before, with the steady rate of all its drifts."""
        if not self.calibrations:
            return []
        drifts = [drift for period in self.periods for drift in period.drifts]
        same = [(left, [d for d in drifts if _is_same(d.found, left)]) for left in self.calibrations[-1].left]
        return [(left, drift_rate(mine)) for left, mine in same if mine]

    @cached_property
    def proposals(self) -> list[Proposal]:
        """What each method proposes for the next calibration; none before the first."""
        return list(self._proposals())

    @property
    def proposal(self) -> Proposal | None:
        """The earliest of the proposals."""
        return earliest(self.proposals) if self.proposals else None

    def _proposals(self) -> Iterator[Proposal]:
        if not self.calibrations:
            return
        last = self.calibrations[-1]
        since = [check for check in self.checks if check.at > last.at]
        failed = [group[-1].at.date() for group in _by_load(since) if not group[-1].is_within]
        if failed:
            yield failed_check(min(failed))
        before = next((c for c in reversed(self.calibrations) if c.on < last.on), None)
        months = self.interval_months or self.rules.first_months
        if before and any(error.limit_g for error in last.found):
            yield staircase(before.on, last.on, months, last.found, self.rules)
        else:
            yield first_interval(last.on, months, self.rules)
        drifted = by_drift(last.on, self.rates, self.rules)
        if drifted:
            yield drifted


def _chart(
    checks: Sequence[PastCheck], base_checks: int, base: BaseLine | None, rules: Sequence[str]
) -> ControlChart | None:
    errors = [check.error_g for check in checks]
    first = errors[:base_checks]
    if base is None:
        if len(first) < LEAST_CHECKS or len(set(first)) == 1:
            return None
        base = base_line(first)
    return control_chart(errors, base, tolerance=checks[-1].limit_g, rules=rules)


def _is_same(one: ErrorAtLoad, other: ErrorAtLoad) -> bool:
    return one.direction == other.direction and is_same_load(one.load_g, other.load_g)


def _by_load(checks: Sequence[PastCheck]) -> list[list[PastCheck]]:
    groups: list[list[PastCheck]] = []
    for check in checks:
        mine = next((group for group in groups if is_same_load(group[0].load_g, check.load_g)), None)
        if mine is None:
            groups.append([check])
        else:
            mine.append(check)
    return sorted(groups, key=lambda group: group[0].load_g)


def _doubt(before: PastCalibration, after: PastCalibration, checks: Sequence[PastCheck]) -> str:
    """Say what is in doubt (ISO/IEC 17025:2017, 6.4.9 and 7.10, from memory). A check counts at its own load only."""
    outside = [error for error in after.found if not error.is_within]
    if not outside:
        return ""
    worst = max(outside, key=lambda error: abs(error.error_g) / (error.limit_g or 1))
    good = [
        check.at.date()
        for check in checks
        if before.at <= check.at <= after.at and check.is_within and is_same_load(check.load_g, worst.load_g)
    ]
    since = f"the last good check at that load, {max(good)}" if good else f"the calibration before, {before.on}"
    return (
        f"found out of tolerance on {after.on}: {worst.error_g:+.4g} g at {worst.load_g:g} g, "
        f"limit {worst.limit_g:g} g. What was weighed since {since}, is in doubt: find out what depends on it and "
        "tell those who rely on it (ISO/IEC 17025:2017, 6.4.9 and 7.10)"
    )
