"""Control chart of daily checks: is the scale still what it was in its base line?

A Shewhart chart of individual values and an exponentially weighted moving average (EWMA) of the same. Where a check
takes several readings its mean is one value: the base line is the scatter from check to check, which is more than the
scatter of the readings within one. All values in one unit, by order of time.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, sections 6.3.2 (rules), 6.3.2.2 (individuals), 6.3.2.4 (EWMA).
A control limit says what is usual for this scale; a tolerance says what is permitted. Neither stands in for the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import fsum, isfinite, sqrt

from scalewright.analysis.chart_rules import RULES, SINGLE, Signal, runs
from scalewright.errors import InputError

_D2 = 1.128
"""mean range of two values over their standard deviation (section 6.3.2.2)"""
WIDTH_SD = 3.0
"""how many standard deviations from the base line the limits are"""
WEIGHT = 0.2
"""lambda of the EWMA, the weight of the newest value: usually 0.2 to 0.3 (section 6.3.2.4, after Hunter)"""
LEAST_CHECKS = 5
"""a base line of fewer says next to nothing (common practice)"""
USUAL_CHECKS = 20
"""of a base line (common practice: 20 to 25)"""
EWMA = "EWMA"
DEFAULT_RULES = SINGLE
"""with the EWMA: chance alone sets one of the two off once in 244 checks"""
EWMA_MEANING = "a small lasting change that single checks do not show: look for what changed since the average left"


@dataclass(frozen=True)
class BaseLine:
    """What is usual."""

    mean: float
    sd: float
    source: str
    """in words: estimated from which checks, or stated"""


def base_line(values: Sequence[float]) -> BaseLine:
    """Return the base line of a run of checks: their mean, and the mean moving range over 1.128.

    Raises InputError for fewer than LEAST_CHECKS values, or values that do not scatter at all.
    """
    if len(values) < LEAST_CHECKS:
        raise InputError(f"{len(values)} checks; a base line takes {LEAST_CHECKS} or more, best {USUAL_CHECKS}")
    mean = fsum(values) / len(values)
    sd = fsum(abs(b - a) for a, b in pairwise(values)) / (len(values) - 1) / _D2
    words = f"first {len(values)} checks" + (", provisional" if len(values) < USUAL_CHECKS else "")
    return stated_base_line(mean, sd, words)


def stated_base_line(mean: float, sd: float, source: str = "stated") -> BaseLine:
    """Return a base line known from elsewhere. Raises InputError unless mean is finite and sd above 0."""
    if not (isfinite(mean) and isfinite(sd) and sd > 0):
        raise InputError(f"base line: mean {mean:g}, sd {sd:g}; expected numbers, and an sd above 0")
    return BaseLine(mean, sd, source)


@dataclass(frozen=True)
class ControlChart:
    """Checks with their limits, and what is out of the ordinary among them."""

    values: tuple[float, ...]
    base: BaseLine
    averages: tuple[float, ...]
    """the EWMA after each value"""
    half_widths: tuple[float, ...]
    """how far each average may be from the mean of the base line"""
    signals: tuple[Signal, ...]
    """by the last point of each"""
    tolerance: float | None
    """how far from zero a value may be; None where there is no limit"""

    @property
    def limits(self) -> tuple[float, float]:
        """The lower and upper control limit for single values."""
        return self.base.mean - WIDTH_SD * self.base.sd, self.base.mean + WIDTH_SD * self.base.sd

    @property
    def newest_signals(self) -> tuple[Signal, ...]:
        """What the last check has to do with."""
        return tuple(signal for signal in self.signals if signal.points[-1] == len(self.values) - 1)

    @property
    def beyond_tolerance(self) -> tuple[int, ...]:
        """Which values are outside the tolerance, by their number from 0."""
        if self.tolerance is None:
            return ()
        return tuple(i for i, value in enumerate(self.values) if abs(value) > self.tolerance)

    @property
    def scatters_beyond_tolerance(self) -> bool:
        """Whether a control limit lies outside the tolerance: checks may fail though nothing has changed."""
        return self.tolerance is not None and max(map(abs, self.limits)) > self.tolerance


def control_chart(
    values: Sequence[float],
    base: BaseLine,
    *,
    tolerance: float | None = None,
    rules: Sequence[str] = DEFAULT_RULES,
    weight: float = WEIGHT,
    width: float = WIDTH_SD,
    is_asymptotic: bool = False,
) -> ControlChart:
    """Return the chart of values against a base line.

    rules: of RULES, beside the EWMA, which always watches. weight: its lambda, above 0 and up to 1; width: its limits,
    in its own standard deviations. is_asymptotic: its limits as they are after many checks, for the first ones too.
    Raises InputError for anything else.
    """
    if not (0 < weight <= 1 and width > 0):
        raise InputError(f"EWMA: weight {weight:g}, width {width:g}; expected above 0, and the weight up to 1")
    if unknown := [name for name in rules if name not in RULES]:
        raise InputError(f"no rule {unknown[0]!r}; expected one of {', '.join(RULES)}")
    if not all(map(isfinite, values)):
        raise InputError("a check is no finite number")
    averages = ewma(values, base.mean, weight)
    widths = [ewma_sd(base.sd, weight, None if is_asymptotic else i + 1) * width for i in range(len(values))]
    deviations = [(value - base.mean) / base.sd for value in values]
    signals = [signal for name in dict.fromkeys(rules) for signal in RULES[name].find(deviations)]
    signals += _ewma_signals([(z - base.mean) / width for z, width in zip(averages, widths, strict=True)])
    signals.sort(key=lambda signal: signal.points[-1])
    return ControlChart(tuple(values), base, tuple(averages), tuple(widths), tuple(signals), tolerance)


def ewma(values: Sequence[float], start: float, weight: float) -> list[float]:
    """Return the average after each value: weight * value + (1 - weight) * average before, from `start`."""
    averages, average = [], start
    for value in values:
        average = weight * value + (1 - weight) * average
        averages.append(average)
    return averages


def ewma_sd(sd: float, weight: float, checks: int | None = None) -> float:
    """Return the standard deviation of the average after so many checks of standard deviation sd; None: after many."""
    grown = 1.0 if checks is None else 1 - (1 - weight) ** (2 * checks)
    return sd * sqrt(weight / (2 - weight) * grown)


def _ewma_signals(parts_of_width: Sequence[float]) -> list[Signal]:
    return [
        Signal(EWMA, points, side, EWMA_MEANING)
        for side, sign in (("above", 1), ("below", -1))
        for points in runs([sign * part > 1 for part in parts_of_width], 1)
    ]
