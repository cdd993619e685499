"""A calibration curve of straight pieces between knots, which never turns back; exact.

For a shape that no cubic follows. Least squares in the hat functions of the knots: at each knot the curve has a value
of its own, in between it is a straight line. With a knot at every load (the default) the values are the mean
indications. The device evaluates polynomials only: this curve is for the host, and to judge the polynomial by.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import lcm

from scalewright.analysis.fit_points import FitPoints
from scalewright.analysis.polynomial import nearest_sqrt
from scalewright.errors import InputError
from shared_calc.fit import FitError, fit_linear

Number = Fraction | Decimal | int
_MOST_KNOTS = 200


@dataclass(frozen=True)
class PiecewiseLinear:
    """Knots and the values there, both strictly monotonic."""

    knots: tuple[Fraction, ...]
    """x of each knot, rising"""
    values: tuple[Fraction, ...]
    """y of each knot"""
    residuals: tuple[Fraction, ...]
    """y minus the curve, in the order of the points"""
    degrees_of_freedom: int

    @property
    def residual_sd(self) -> float | None:
        """The residual standard deviation; None where every point has a knot of its own."""
        squares = sum((residual**2 for residual in self.residuals), Fraction(0))
        return nearest_sqrt(squares / self.degrees_of_freedom) if self.degrees_of_freedom else None

    def evaluate(self, x: Number) -> Fraction:
        """Return y on the curve; beyond the ends the outer pieces go on."""
        return _interpolate(self.knots, self.values, Fraction(x))

    def inverse(self, y: Number) -> Fraction:
        """Return the x at which the curve is y, exactly."""
        sign = 1 if self.values[-1] > self.values[0] else -1
        return _interpolate([sign * value for value in self.values], self.knots, sign * Fraction(y))


def fit_piecewise(
    points: FitPoints, knots: Sequence[Number] | None = None, *, use_uncertainties: bool = True
) -> PiecewiseLinear:
    """Return the curve through the knots, by default one at each different x.

    Points weigh as in `fit_to`. Where they are to go through zero, the curve is exactly 0 at the knot 0. Raises
    InputError, naming the rows, where the curve would turn back or the points do not determine its values.
    """
    places = sorted({Fraction(x) for x in (points.x if knots is None else knots)})
    file = points.observations.file
    if not 2 <= len(places) <= _MOST_KNOTS:
        raise InputError(f"{len(places)} knots; expected 2 to {_MOST_KNOTS}", file=file)
    free = [place for place in places if not (points.through_zero and place == 0)]
    hats = [_hats(places, x) for x in points.x]
    regressors = [[row.get(place, Fraction(0)) for place in free] for row in hats]
    u = points.u_y() if use_uncertainties else None
    values = dict.fromkeys(places, Fraction(0)) | dict(zip(free, _solve(regressors, points, u), strict=True))
    _check_monotonic(places, [values[place] for place in places], points)
    return PiecewiseLinear(
        tuple(places),
        tuple(values[place] for place in places),
        tuple(
            y - sum((share * values[place] for place, share in row.items()), Fraction(0))
            for y, row in zip(points.y, hats, strict=True)
        ),
        len(points.x) - len(free),
    )


def _solve(
    regressors: Sequence[Sequence[Fraction]], points: FitPoints, u: Sequence[Fraction] | None
) -> list[Fraction]:
    scale = lcm(*(share.denominator for row in regressors for share in row))
    y_scale = lcm(*(y.denominator for y in points.y))
    weights = [1 / value**2 for value in u] if u else [Fraction(1)] * len(points.y)
    w_scale = lcm(*(weight.denominator for weight in weights))
    try:
        numerators, denominator = fit_linear(
            [[int(share * scale) for share in row] for row in regressors],
            [int(y * y_scale) for y in points.y],
            [int(weight * w_scale) for weight in weights],
        )
    except FitError as error:
        message = f"the points do not determine a value at each of {len(regressors[0])} knots"
        raise InputError(message, file=points.observations.file, remedy="take knots away or add points") from error
    return [Fraction(numerator * scale, denominator * y_scale) for numerator in numerators]


def _hats(places: Sequence[Fraction], x: Fraction) -> dict[Fraction, Fraction]:
    """Return the share that the value at each knot has in the curve at x."""
    k = min(max(bisect_right(places, x), 1), len(places) - 1)
    low, high = places[k - 1], places[k]
    share = (x - low) / (high - low)
    return {place: part for place, part in ((low, 1 - share), (high, share)) if part}


def _interpolate(places: Sequence[Fraction], values: Sequence[Fraction], x: Fraction) -> Fraction:
    value_at = dict(zip(places, values, strict=True))
    return sum((share * value_at[place] for place, share in _hats(places, x).items()), Fraction(0))


def _check_monotonic(places: Sequence[Fraction], values: Sequence[Fraction], points: FitPoints) -> None:
    rises = values[-1] > values[0]
    for k in range(len(places) - 1):
        if values[k] == values[k + 1] or (values[k] < values[k + 1]) != rises:
            low, high = (_lines_near(place, places, points) for place in places[k : k + 2])
            raise InputError(
                f"the {points.response} go from {float(values[k]):.12g} at {float(places[k]):.12g} ({low}) to "
                f"{float(values[k + 1]):.12g} at {float(places[k + 1]):.12g} ({high}); expected them to "
                f"{'rise' if rises else 'fall'} all the way",
                file=points.observations.file,
                remedy="look at these rows, repeat the loads, or use fewer knots",
            )


def _lines_near(place: Fraction, places: Sequence[Fraction], points: FitPoints) -> str:
    """Name the rows that decide on the value at a knot."""
    lines = [
        str(line)
        for x, line in zip(points.x, points.observations.lines, strict=True)
        if place in _hats(places, x)
    ]
    return f"line{'s' * (len(lines) > 1)} {', '.join(lines)}"
