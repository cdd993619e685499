"""A polynomial through calibration points, exact until it is shown.

The decimals of the points are scaled to integers and solved by `shared_calc.fit`, the arithmetic of the device itself.
Coefficients, covariance and residuals stay fractions; a float appears only at the end, rounded once. So every figure
is the right one to the last digit of a double, whatever the data.

Either way round:
    response "counts"  the indication as the response to the load, as a calibration observes it: loads taken as exact
    response "load"    the load on the counts, as the device evaluates it
For straight lines the product of the two slopes is R2, so they are one line as far as the points lie on one. The
inverse of a curve of degree 2 or more is no polynomial: there the two are different models, each with its residuals.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import isqrt, lcm

from scalewright.analysis.fit_points import FitPoints, fit_points
from scalewright.errors import InputError
from scalewright.recordings import Observations
from shared_calc.fit import FitError, fit_linear, gram_matrix, invert

MAX_DEGREE = 10


@dataclass(frozen=True)
class PolynomialFit:
    """The least-squares polynomial y = c0 + c1 x + c2 x**2 + ..., and how well it fits.

    The floats are the doubles nearest to the exact values; None where the points leave them undefined (no degrees of
    freedom, or no scatter at all). Where one would exceed the doubles: OverflowError.
    """

    coefficients: tuple[Fraction, ...]
    """lowest power first"""
    first_power: int
    """0; 1 where the curve was forced through zero and has no c0"""
    covariance_factor: tuple[tuple[Fraction, ...], ...]
    """the inverse of the sums of w x**(i+j): the coefficients' covariance is this times the variance of unit weight"""
    residuals: tuple[Fraction, ...]
    """y minus the curve, in the order of the points"""
    residual_sum: Fraction
    """sum of w times the residual squared; the observed chi-squared where w = 1 / u**2"""
    total_sum: Fraction
    """sum of w times the deviation of y from its mean (through zero: from 0) squared"""
    weighted: bool
    """whether w = 1 / u**2 with stated uncertainties u; otherwise every w is 1"""

    def evaluate(self, x: Fraction | Decimal | int) -> Fraction:
        """Return y on the curve, exactly."""
        y = Fraction(0)
        for coefficient in reversed(self.coefficients):
            y = y * Fraction(x) + coefficient
        return y * Fraction(x) ** self.first_power

    def slope(self, x: Fraction | Decimal | int) -> Fraction:
        """Return dy/dx of the curve, exactly."""
        slope = Fraction(0)
        for power, coefficient in reversed(list(enumerate(self.coefficients, self.first_power))):
            slope = slope * Fraction(x) + power * coefficient if power else slope
        return slope

    @property
    def degrees_of_freedom(self) -> int:
        return len(self.residuals) - len(self.coefficients)

    @property
    def residual_variance(self) -> Fraction | None:
        """The variance of unit weight, estimated from the residuals."""
        return self.residual_sum / self.degrees_of_freedom if self.degrees_of_freedom else None

    @property
    def residual_sd(self) -> float | None:
        """The residual standard deviation, in the unit of y; weighted: as a multiple of the stated uncertainties."""
        return None if self.residual_variance is None else nearest_sqrt(self.residual_variance)

    @property
    def standard_errors(self) -> tuple[float, ...] | None:
        """The standard errors of the coefficients, by the scatter of the residuals."""
        variance = self.residual_variance
        if variance is None:
            return None
        return tuple(nearest_sqrt(row[k] * variance) for k, row in enumerate(self.covariance_factor))

    @property
    def standard_uncertainties(self) -> tuple[float, ...] | None:
        """The standard uncertainties of the coefficients, by the stated uncertainties (ISO/TS 28037:2010, 6.3)."""
        return tuple(nearest_sqrt(row[k]) for k, row in enumerate(self.covariance_factor)) if self.weighted else None

    @property
    def r_squared(self) -> float | None:
        """The share of the variation of y that the curve accounts for."""
        return float(1 - self.residual_sum / self.total_sum) if self.total_sum else None

    @property
    def f_statistic(self) -> float | None:
        """The mean square the curve explains over the mean square it leaves."""
        variance = self.residual_variance
        terms = len(self.coefficients) - 1 + self.first_power
        return float((self.total_sum - self.residual_sum) / terms / variance) if variance and terms else None


def fit_polynomial(
    x: Sequence[Fraction | Decimal | int],
    y: Sequence[Fraction | Decimal | int],
    degree: int,
    *,
    u: Sequence[Fraction | Decimal | int] | None = None,
    through_zero: bool = False,
) -> PolynomialFit:
    """Return the polynomial that minimises the sum of w * (y - curve)**2, with w = 1 / u**2, or 1 without u.

    degree: from 1. u: the standard uncertainties of y, each above 0. Raises FitError where the points do not
    determine the coefficients.
    """
    if not x:
        raise FitError("no points")
    first_power = 1 if through_zero else 0
    whole_x, x_scale = _whole(x)
    whole_y, y_scale = _whole(y)
    weights, w_scale = _whole([1 / Fraction(value) ** 2 for value in u] if u is not None else [1] * len(x))
    powers = [[value**k for k in range(first_power, degree + 1)] for value in whole_x]
    numerators, denominator = fit_linear(powers, whole_y, weights)
    inverse, determinant = invert(gram_matrix(powers, weights))
    residuals = [
        value * denominator - sum(n * power for n, power in zip(numerators, row, strict=True))
        for value, row in zip(whole_y, powers, strict=True)
    ]
    scales = [x_scale**k for k in range(first_power, degree + 1)]
    return PolynomialFit(
        coefficients=tuple(Fraction(n * s, denominator * y_scale) for n, s in zip(numerators, scales, strict=True)),
        first_power=first_power,
        covariance_factor=tuple(
            tuple(Fraction(inverse[i][j] * scales[i] * scales[j] * w_scale, determinant) for j in range(len(scales)))
            for i in range(len(scales))
        ),
        residuals=tuple(Fraction(residual, denominator * y_scale) for residual in residuals),
        residual_sum=Fraction(_weighted_squares(residuals, weights), w_scale * (denominator * y_scale) ** 2),
        total_sum=Fraction(_total_sum(whole_y, weights, through_zero), w_scale * y_scale**2),
        weighted=u is not None,
    )


def fit_observations(
    observations: Observations,
    degree: int,
    response: str = "counts",
    *,
    zero: str = "free",
    use_uncertainties: bool = True,
) -> PolynomialFit:
    """Return the curve through the points of a file, as `fit_to` does with the points that `fit_points` makes of it."""
    return fit_to(fit_points(observations, response, zero), degree, use_uncertainties=use_uncertainties)


def fit_to(points: FitPoints, degree: int, *, use_uncertainties: bool = True) -> PolynomialFit:
    """Return the curve through points.

    They weigh by the stated uncertainty of the response if it stands in every row, alike if it stands in none. The
    number of readings behind a point is no weight: the scatter of an indication comes from placing the load, which
    more readings do not average. Raises InputError, naming the file.
    """
    file = points.observations.file
    if not 1 <= degree <= MAX_DEGREE:
        raise InputError(f"degree {degree}; expected 1 to {MAX_DEGREE}", file=file)
    u = points.u_y() if use_uncertainties else None
    try:
        return fit_polynomial(points.x, points.y, degree, u=u, through_zero=points.through_zero)
    except FitError as error:
        needed = f"{degree} different ones other than 0" if points.through_zero else f"{degree + 1} different ones"
        found = f"{len(points.x)} points with {len(set(points.x))} different {points.x_column}"
        message = f"{found} do not determine degree {degree}; expected at least {needed}"
        raise InputError(message, file=file, column=points.x_column) from error


def nearest_sqrt(value: Fraction) -> float:
    """Return the double nearest to the square root of a fraction from 0.

    The root is taken to at least 64 bits and, where it goes on beyond them, marked by a last bit of 1: no double and
    no midpoint of two lies in between, so the one rounding at the end is the right one.
    """
    excess = value.denominator.bit_length() - value.numerator.bit_length()
    bits = max(64 + excess // 2 + 1, 0)
    scaled, remainder = divmod(value.numerator << 2 * bits, value.denominator)
    root = isqrt(scaled)
    inexact = remainder != 0 or root * root != scaled
    return (2 * root + inexact) / (1 << bits + 1)


def _whole(values: Sequence[Fraction | Decimal | int]) -> tuple[list[int], int]:
    """Return the values as integers over one denominator, exactly."""
    fractions = [Fraction(value) for value in values]
    denominator = lcm(*(fraction.denominator for fraction in fractions))
    return [fraction.numerator * (denominator // fraction.denominator) for fraction in fractions], denominator


def _weighted_squares(values: Sequence[int], weights: Sequence[int]) -> int:
    return sum(weight * value * value for value, weight in zip(values, weights, strict=True))


def _total_sum(y: Sequence[int], weights: Sequence[int], through_zero: bool) -> Fraction:
    squares = Fraction(_weighted_squares(y, weights))
    if through_zero:
        return squares
    total = sum(weight * value for value, weight in zip(y, weights, strict=True))
    return squares - Fraction(total * total, sum(weights))
