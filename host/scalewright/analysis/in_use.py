"""From a calibration to daily use: the uncertainty of a weighing result, and the smallest weight worth weighing.

Every formula here is that of EURAMET Calibration Guide No. 18, version 4.0 (11/2015), clauses 7.3 to 7.5 and
appendices C and G, from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any

from scalewright.analysis.error_of_indication import ErrorOfIndication, ScaleUnderTest, relative_u_of_air
from scalewright.errors import InputError


@dataclass(frozen=True)
class ErrorLine:
    """The errors of a calibration as a straight line through zero: E = slope * R."""

    slope: float
    u_slope: float
    chi_squared: float
    degrees_of_freedom: int
    errors_near: bool
    """whether no error lies further from the line than its own expanded uncertainty, 2 u(E)"""

    @property
    def holds(self) -> bool:
        """Whether the errors scatter about the line no more than their uncertainties explain."""
        expected = self.degrees_of_freedom
        return self.chi_squared <= expected + 2 * sqrt(2 * expected)


def error_line(points: Sequence[ErrorOfIndication]) -> ErrorLine:
    """Return the line through zero that fits the errors best, each weighted by its uncertainty.

    Raises InputError where no point has a load, or a point no uncertainty.
    """
    if not all(point.u_error_g > 0 for point in points) or not any(point.indication_g for point in points):
        raise InputError("the errors determine no line; expected a load other than zero and uncertainties above 0")
    weights = [1 / point.u_error_g**2 for point in points]
    squares = sum(w * p.indication_g**2 for w, p in zip(weights, points, strict=True))
    slope = sum(w * p.indication_g * p.error_g for w, p in zip(weights, points, strict=True)) / squares
    residuals = [p.error_g - slope * p.indication_g for p in points]
    return ErrorLine(
        slope,
        1 / sqrt(squares),
        sum(w * r**2 for w, r in zip(weights, residuals, strict=True)),
        len(points) - 1,
        all(abs(r) <= 2 * p.u_error_g for r, p in zip(residuals, points, strict=True)),
    )


@dataclass(frozen=True)
class Conditions:
    """What happens to the scale between calibrations; each can be 0."""

    temperature_coefficient_per_k: float = 0.0
    """relative change of the indication; where unknown, 1e-5 for a scale that adjusts itself (common practice)"""
    temperature_span_k: float = 0.0
    """highest minus lowest temperature at which it is used"""
    adjustment_drift: float = 0.0
    """the most its sensitivity changes until the next adjustment, relative: that of the error at Max, over Max"""
    air_varies: bool = False
    """whether it is used without adjusting it to the air of the day"""

    @property
    def u_relative(self) -> float:
        """Relative standard uncertainty of a reading from all of them."""
        air = relative_u_of_air(self.temperature_span_k) if self.air_varies else 0.0
        temperature = self.temperature_coefficient_per_k * self.temperature_span_k / sqrt(12)
        return sqrt(temperature**2 + self.adjustment_drift**2 / 3 + air**2)


@dataclass(frozen=True)
class MinimumWeight:
    """The smallest net weight whose uncertainty is the wanted share of it, or less."""

    required_relative: float
    """the wanted relative accuracy: expanded uncertainty over weight"""
    safety_factor: float
    minimum_g: float | None
    """None: no weight up to Max is that accurate"""


@dataclass(frozen=True)
class InUse:
    """The uncertainty of weighing results. A reading is written R, in g."""

    scale: ScaleUnderTest
    line: ErrorLine
    conditions: Conditions
    max_g: float
    coverage_factor: float = 2.0

    def u_result_g(self, reading_g: float) -> float:
        """Return the standard uncertainty of a result corrected by the line: W = R - slope R."""
        relative = (self.scale.u_relative_eccentricity, self.conditions.u_relative, self.line.u_slope)
        fixed = self.scale.u_zero_g**2 + self.scale.division_g**2 / 12 + self.scale.repeatability.s_g**2
        return sqrt(fixed + reading_g**2 * sum(u**2 for u in relative))

    def expanded_u_g(self, reading_g: float) -> float:
        """Return U(W) of a corrected result."""
        return self.coverage_factor * self.u_result_g(reading_g)

    def global_u_g(self, reading_g: float) -> float:
        """Return U_gl(W) of a reading taken as it is: the error it may have is added to the uncertainty."""
        return self.expanded_u_g(reading_g) + abs(self.line.slope * reading_g)

    def global_line(self) -> tuple[float, float]:
        """Return alpha in g and beta of U_gl = alpha + beta R, exact at zero and Max and above it between."""
        alpha_g = self.global_u_g(0.0)
        return alpha_g, (self.global_u_g(self.max_g) - alpha_g) / self.max_g

    def minimum_weight(self, required_relative: float, safety_factor: float = 1.0) -> MinimumWeight:
        """Return the smallest weight whose U_gl, by the global line, times the safety factor is that share of it."""
        alpha_g, beta = self.global_line()
        margin = required_relative - beta * safety_factor
        minimum_g = alpha_g * safety_factor / margin if margin > 0 else None
        if minimum_g is not None and minimum_g > self.max_g:
            minimum_g = None
        return MinimumWeight(required_relative, safety_factor, minimum_g)

    def as_json(self, readings_g: Sequence[float]) -> dict[str, Any]:
        """Return one JSON object with the uncertainties at some readings."""
        alpha_g, beta = self.global_line()
        return {
            "coverage_factor": self.coverage_factor,
            "error_slope": self.line.slope,
            "u_error_slope": self.line.u_slope,
            "chi_squared": self.line.chi_squared,
            "chi_squared_degrees_of_freedom": self.line.degrees_of_freedom,
            "line_holds": self.line.holds and self.line.errors_near,
            "readings": [
                {
                    "reading_g": reading_g,
                    "expanded_u_corrected_g": self.expanded_u_g(reading_g),
                    "expanded_u_uncorrected_g": self.global_u_g(reading_g),
                }
                for reading_g in readings_g
            ],
            "alpha_g": alpha_g,
            "beta": beta,
        }
