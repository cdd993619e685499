"""What to doubt about the points of a calibration, before believing the curve. Nothing is dropped, ever.

Outliers: the largest of many residuals is large by nature. So each point's externally studentised residual is held
against Student's t and its probability multiplied by the number of points (Bonferroni; R. D. Cook, S. Weisberg,
Residuals and Influence in Regression, Chapman & Hall 1982, 2.2.2; from memory). Two outliers can hide one another, and
a curve of too low a degree makes outliers of good points: so a named row is to be looked at, not to be struck out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from scalewright.analysis.influence import Influence
from scalewright.analysis.student_t import chance, two_sided_tail
from scalewright.recordings import Observations

_FEWEST_LOADS = 5  # EURAMET cg-18, version 4.0, section 5 (from memory): 5 or more loads, 0 and Max among them
_SPARE_LOADS = 2  # common practice: loads beyond the coefficients, by which the curve can be judged
_WIDEST_GAP = 2.0  # common practice: a gap of this many even steps is where nothing holds the curve
_LEVERAGE = 0.9  # common practice: above it a point decides on the curve nearly alone


@dataclass(frozen=True)
class Outlier:
    """A point that the scatter of the others hardly explains."""

    line: int
    studentised: float
    p: float
    """the probability that the worst of so many good points is this far off"""

    def __str__(self) -> str:
        return (
            f"line {self.line} lies {abs(self.studentised):.1f} standard deviations off the curve through the others; "
            f"the chance of that is {chance(self.p)}; look at it, it has not been dropped"
        )


def outliers(influences: Sequence[Influence], lines: Sequence[int], level: float = 0.05) -> list[Outlier]:
    """Return the points whose Bonferroni-adjusted p is below the level, the worst first.

    lines: where in its file each point stands.
    """
    freedom = len(influences) - round(sum(i.leverage for i in influences)) - 1
    found = []
    for influence, line in zip(influences, lines, strict=True):
        if influence.studentised is not None:
            p = min(1.0, two_sided_tail(influence.studentised, freedom) * len(influences))
            if p < level:
                found.append(Outlier(line, influence.studentised, p))
    return sorted(found, key=lambda outlier: outlier.p)


def warnings(
    observations: Observations, degree: int, influences: Sequence[Influence] = (), max_g: Decimal | None = None
) -> list[str]:
    """Return, in words, where points are too few, too bunched, decide alone, or do not reach zero or Max."""
    loads_g = sorted({point.load_g for point in observations.points})
    found = _too_few(loads_g, degree) + _too_bunched(loads_g) + _too_short(loads_g, max_g)
    for influence, line in zip(influences, observations.lines, strict=False):
        if influence.leverage > _LEVERAGE:
            found.append(
                f"line {line} has {float(influence.leverage):.0%} of the say in the curve at its own load: the curve "
                "follows it whatever it shows; repeat that load, or add loads beside it"
            )
    return found


def _too_few(loads_g: Sequence[Decimal], degree: int) -> list[str]:
    needed = max(_FEWEST_LOADS, degree + 1 + _SPARE_LOADS)
    if len(loads_g) >= needed:
        return []
    return [f"{len(loads_g)} different loads are few for degree {degree}; {needed} or more can show where it is wrong"]


def _too_bunched(loads_g: Sequence[Decimal]) -> list[str]:
    if len(loads_g) < 3:
        return []
    even = (loads_g[-1] - loads_g[0]) / (len(loads_g) - 1)
    width, low, high = max((high - low, low, high) for low, high in pairwise(loads_g))
    if width <= Decimal(_WIDEST_GAP) * even:
        return []
    return [f"the loads are bunched: none between {low} and {high}, where only the shape of the curve speaks"]


def _too_short(loads_g: Sequence[Decimal], max_g: Decimal | None) -> list[str]:
    found = []
    if loads_g[0] > 0:
        found.append(f"no load of 0: the curve below {loads_g[0]} is extrapolated")
    if max_g is not None and loads_g[-1] < max_g:
        beyond = float(1 - loads_g[-1] / max_g)
        found.append(f"the loads end at {loads_g[-1]}, Max is {max_g}: the last {beyond:.1%} is extrapolated")
    return found
