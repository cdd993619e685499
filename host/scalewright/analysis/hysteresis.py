"""Two curves, one for rising and one for falling loads, and the hysteresis between them.

Hysteresis error (OIML R 60-1:2021): the difference between the outputs at the same load, once reached by loads rising
from the minimum and once by loads falling from the maximum. Given here as falling minus rising, in grams by the local
slope, and as a fraction of Max. R 60 has no limit for hysteresis alone: non-linearity, hysteresis and the effect of
temperature on sensitivity are held against one limit together (5.3.2), as errors from one straight line
(R 60-2:2021, 2.8.2; R 60-3:2021, 2.1.2).
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

import numpy as np

from scalewright.analysis.fit_points import FitPoints, fit_points
from scalewright.analysis.model_choice import means_by_load
from scalewright.analysis.piecewise import fit_piecewise
from scalewright.analysis.polynomial import PolynomialFit, fit_to
from scalewright.errors import InputError
from scalewright.recordings import Observations

_REFERENCE_SHARE = Fraction(3, 4)  # OIML R 60-2:2021, 2.8.2: the line through 75 % of the measuring range


@dataclass(frozen=True)
class Difference:
    """Falling minus rising at one load."""

    load_g: float
    difference_g: float


@dataclass(frozen=True)
class Hysteresis:
    """What a rising and a falling run say about one another."""

    observed: tuple[Difference, ...]
    """at each load that was reached from both sides, by the mean indications"""
    between_curves: Difference
    """the widest gap between the two fitted curves, anywhere in their common range"""
    max_g: float

    @property
    def widest(self) -> Difference:
        """The largest observed difference."""
        return max(self.observed, key=lambda difference: abs(difference.difference_g))

    @property
    def fraction_of_max(self) -> float:
        """The largest observed difference over Max."""
        return self.widest.difference_g / self.max_g


@dataclass(frozen=True)
class TwoCurves:
    """The curves of counts over load in either direction."""

    up: PolynomialFit
    down: PolynomialFit
    hysteresis: Hysteresis


def two_curves(
    observations: Observations,
    degree: int,
    max_g: Decimal | None = None,
    zero: str = "free",
    *,
    use_uncertainties: bool = True,
) -> TwoCurves:
    """Return one curve of counts through the points marked up and one through those marked down.

    max_g: the largest load unless stated. zero: as in `fit_points`, one zero for both curves. Raises InputError where
    a point has no direction, a direction has too few points, or no load was reached from both sides.
    """
    for point, line in zip(observations.points, observations.lines, strict=True):
        if not point.direction:
            message = "nothing found; expected up or down in every row"
            raise InputError(message, file=observations.file, line=line, column="direction")
    up, down = (in_direction(fit_points(observations, "counts", zero), direction) for direction in ("up", "down"))
    rising, falling = (fit_to(part, degree, use_uncertainties=use_uncertainties) for part in (up, down))
    common = max(min(up.x), min(down.x)), min(max(up.x), max(down.x))
    full_g = float(max(*up.x, *down.x) if max_g is None else max_g)
    observed = _observed(up, down, rising)
    return TwoCurves(rising, falling, Hysteresis(observed, _widest_gap(rising, falling, *common), full_g))


def in_direction(points: FitPoints, direction: str) -> FitPoints:
    """Return the points whose load was reached in that direction. Raises InputError where there are none."""
    kept = [k for k, point in enumerate(points.observations.points) if point.direction == direction]
    if not kept:
        raise InputError(f"no point is marked {direction!r}", file=points.observations.file, column="direction")
    whole = points.observations
    part = replace(
        whole,
        points=tuple(whole.points[k] for k in kept),
        lines=tuple(whole.lines[k] for k in kept),
        extra={name: tuple(cells[k] for k in kept) for name, cells in whole.extra.items()},
    )
    return replace(points, x=tuple(points.x[k] for k in kept), y=tuple(points.y[k] for k in kept), observations=part)


def load_cell_errors(observations: Observations, intervals: int) -> list[tuple[Fraction, str, Fraction]]:
    """Return (load, direction, error in verification intervals v) of the mean output at each load, as OIML R 60 has it.

    The loads run from D_min to D_max, and that range is `intervals` of v. The reference line goes through the rising
    output at D_min and the one at 75 % of the range, interpolated where that was no load (R 60-2:2021, 2.8.2). Raises
    InputError where a direction is missing or the rising loads do not reach that far.
    """
    parts = {direction: in_direction(fit_points(observations), direction) for direction in ("up", "down")}
    means = {direction: means_by_load(part.x, part.y) for direction, part in parts.items()}
    low, high = min(means["up"]), max(means["up"])
    rising = fit_piecewise(parts["up"])
    per_load = (rising.evaluate(low + (high - low) * _REFERENCE_SHARE) - means["up"][low]) / _REFERENCE_SHARE
    return [
        (load, direction, ((output - means["up"][low]) / per_load - (load - low) / (high - low)) * intervals)
        for direction, outputs in means.items()
        for load, output in outputs.items()
    ]


def _observed(up: FitPoints, down: FitPoints, rising: PolynomialFit) -> tuple[Difference, ...]:
    outputs_up, outputs_down = means_by_load(up.x, up.y), means_by_load(down.x, down.y)
    common = [load for load in outputs_up if load in outputs_down]
    if not common:
        message = "no load was reached both upwards and downwards; expected at least one"
        raise InputError(message, file=up.observations.file, column="direction")
    return tuple(
        Difference(float(load), float((outputs_down[load] - outputs_up[load]) / rising.slope(load))) for load in common
    )


def _widest_gap(up: PolynomialFit, down: PolynomialFit, low: Fraction, high: Fraction) -> Difference:
    """Return the largest gap between two curves over a range: at its ends, or where their slopes agree."""
    scale = max(abs(low), abs(high))
    coefficients = zip(up.coefficients, down.coefficients, strict=True)
    slopes = [float((b - a) * k * scale**k) for k, (a, b) in enumerate(coefficients, up.first_power) if k]
    level = np.roots(slopes[::-1])
    places = [low, high, *(Fraction(root.real) * scale for root in level if abs(root.imag) < 1e-9)]
    gaps = [
        Difference(float(load), float((down.evaluate(load) - up.evaluate(load)) / up.slope(load)))
        for load in places
        if low <= load <= high
    ]
    return max(gaps, key=lambda difference: abs(difference.difference_g))
