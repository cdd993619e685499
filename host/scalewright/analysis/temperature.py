"""From the effects of temperature to the compensation that the device applies, and what they do to indications."""

from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor

import numpy as np

from scalewright.analysis.drift import DriftFit, Quantity
from scalewright.analysis.soak import Array, Soak
from scalewright.errors import InputError
from scalewright.influence_limits import Check, no_load_degrees, no_load_limit, span_limit
from scalewright.tolerances import AccuracyClass
from shared_calc.temperature import (
    PARTS_OF_A_DEGREE,
    REACH,
    SPAN_UNITS,
    ZERO_UNITS,
    Compensation,
    CompensationError,
    correct,
)

_WHOLE_C = REACH // PARTS_OF_A_DEGREE
_COURSE = 60  # points that make a smooth line


def compensation_for(fit: DriftFit) -> Compensation:
    """Return the compensation that takes the effects out, for the temperatures of the recording in whole degrees.

    The device divides what the fit multiplies: 1 - s(t) = 1 / (1 + span(t)), so s2 = span2 - span1**2; what is left of
    the third order is below 1e-9 for a cell of 100 ppm in 1 C over 10 C. Raises InputError where the device could not
    apply it faithfully.
    """
    if fit.zero_counts is None:
        raise InputError("the empty scale was not recorded", remedy="a compensation needs its counts")
    span_1, span_2 = fit.quantity("span 1").value, fit.quantity("span 2").value
    low_c, high_c = min(fit.range_c[0], fit.reference_c), max(fit.range_c[1], fit.reference_c)
    try:
        return Compensation(
            round(fit.reference_c * PARTS_OF_A_DEGREE),
            max(floor(low_c), ceil(fit.reference_c) - _WHOLE_C),
            min(ceil(high_c), floor(fit.reference_c) + _WHOLE_C),
            round(fit.zero_counts),
            round(fit.quantity("zero 1").value * _WHOLE_C * ZERO_UNITS),
            round(fit.quantity("zero 2").value * _WHOLE_C**2 * ZERO_UNITS),
            round(span_1 * _WHOLE_C * SPAN_UNITS),
            round((span_2 - span_1**2) * _WHOLE_C**2 * SPAN_UNITS),
        )
    except CompensationError as error:
        raise InputError(f"no compensation can be stored: {error}", remedy="check cell and recording") from error


def compensated(soak: Soak, compensation: Compensation) -> Soak:
    """Return the recording as the device's own integers correct it; a temperature that is missing is held."""
    zero, span = [], []
    compensation = Compensation(*compensation.fields)  # which has felt no temperature yet
    for temperature_c in soak.temperature_c:
        compensation.follow(round(float(temperature_c) * PARTS_OF_A_DEGREE) if np.isfinite(temperature_c) else None)
        zero.append(compensation.zero)
        span.append(compensation.span)
    counts = correct(soak.counts.astype(np.int64), compensation.fields[3], np.array(zero), np.array(span))
    return replace(soak, counts=counts.astype(np.float64))


@dataclass(frozen=True)
class Effects:
    """What temperature does to the indications of a scale, in grams."""

    fit: DriftFit
    g_per_count: float

    def zero_g_per_c(self) -> Quantity:
        """Return the steepest change of the zero with temperature within the range, with its sign."""
        slopes = [self.fit.effect("zero", temperature_c, slope=True) for temperature_c in self.fit.range_c]
        steepest = max(slopes, key=lambda slope: abs(slope.value))
        return Quantity(steepest.value * self.g_per_count, steepest.u * abs(self.g_per_count))

    def span_per_c(self) -> Quantity:
        """Return the steepest change of the span with temperature within the range, as a part of the load."""
        slopes = [self.fit.effect("span", temperature_c, slope=True) for temperature_c in self.fit.range_c]
        return max(slopes, key=lambda slope: abs(slope.value))

    def span_error_g(self, load_g: float) -> Quantity:
        """Return the greatest error at a load, zero set, within the range, if it is right at the reference."""
        low_c, high_c = self.fit.range_c
        places = [low_c, high_c]
        linear, quadratic = self.fit.quantity("span 1").value, self.fit.quantity("span 2").value
        if quadratic:
            places.append(min(max(self.fit.reference_c - linear / (2 * quadratic), low_c), high_c))
        worst = max((self.fit.effect("span", place_c) for place_c in places), key=lambda part: abs(part.value))
        return Quantity(worst.value * load_g, worst.u * abs(load_g))

    def curve(self, load_g: float, temperatures_c: Array) -> Array:
        """Return in grams how far the zero (load 0) or, zero set, a load has moved at each temperature."""
        kind, factor = ("span", load_g) if load_g else ("zero", self.g_per_count)
        return np.array([self.fit.effect(kind, float(t)).value * factor for t in temperatures_c])

    def course(self, load_g: float) -> tuple[Array, Array]:
        """Return temperatures over the range, and the curve at them."""
        temperatures_c = np.linspace(*self.fit.range_c, _COURSE)
        return temperatures_c, self.curve(load_g, temperatures_c)

    def seen(self, load_g: float) -> tuple[Array, Array]:
        """Return the temperature of each block under a load, and what it showed beside creep and warm-up."""
        blocks = self.fit.blocks
        mine = np.array([dwell.load_g == load_g for dwell in blocks.dwells])[blocks.dwell]
        residuals_g = self.fit.conclusion.residuals[mine] * self.g_per_count
        return blocks.temperature_c[mine], self.curve(load_g, blocks.temperature_c[mine]) + residuals_g

    def checks(self, limits: AccuracyClass) -> list[Check]:
        """Return the changes held against OIML R 76: at no load, and at each load that was recorded."""
        degrees = no_load_degrees(limits)
        zero = self.zero_g_per_c()
        found = [
            Check(f"no load, change in {degrees} C", zero.value * degrees, zero.u * degrees, no_load_limit(limits))
        ]
        for load_g in self.fit.blocks.loads_g:
            if load_g:
                error = self.span_error_g(load_g)
                limit = span_limit(limits, Fraction(load_g))
                found.append(Check(f"{load_g:g} g, error over the range", error.value, error.u, limit))
        return found


def effects_in_grams(fit: DriftFit, g_per_count: float | None = None) -> Effects:
    """Return the effects in grams.

    g_per_count: from the scale's coefficients; None takes it from the heaviest load of the recording, and raises
    InputError where there was none.
    """
    if g_per_count is None:
        heaviest_g = max(fit.blocks.loads_g, key=abs)
        if not heaviest_g:
            raise InputError(
                "no load was recorded, so counts cannot be told in grams",
                remedy="record a known load too, or give the scale's coefficients",
            )
        net = fit.net_counts(heaviest_g)
        if not net:
            raise InputError(f"{heaviest_g:g} g makes no difference to the counts", remedy="check the wiring")
        g_per_count = heaviest_g / net
    return Effects(fit, g_per_count)
