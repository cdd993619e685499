"""The error of indication at a test load, with the uncertainty budget of EURAMET cg-18.

    E = I - m_ref
    I = I_L + dI_digL + dI_rep + dI_ecc - I_0 - dI_dig0     division under load and at zero, repeatability, eccentricity
    m_ref = m_N + dm_c + dm_B + dm_D + dm_conv              calibration, air buoyancy, drift, convection

Every formula here is that of EURAMET Calibration Guide No. 18, version 4.0 (11/2015), clause 7.1, from memory.
Uncertainties of weights that stand together on the scale add up arithmetically: they may come from one standard.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import hypot, sqrt
from statistics import stdev
from typing import Any, Protocol

from scalewright.analysis.air import AirDensity
from scalewright.analysis.budget import Budget, Component, from_limits
from scalewright.analysis.buoyancy import AIR_KG_M3, DENSITY_KG_M3, STEEL, Material, adjustment_air, present_air
from scalewright.analysis.correction import combined
from scalewright.errors import InputError


@dataclass(frozen=True)
class Weight:
    """A reference weight, as its certificate and its class describe it."""

    nominal_g: float
    mpe_g: float
    """maximum permissible error of its class"""
    correction_g: float = 0.0
    """conventional mass minus nominal value, from the certificate"""
    expanded_u_g: float | None = None
    """of the certificate; None: taken at its nominal value, known to the maximum permissible error"""
    k: float = 2.0
    """coverage factor of the certificate"""
    drift_g: float = 0.0
    """the most it may have changed since its calibration"""
    convection_g: float = 0.0
    """the most that air rising or falling along it may do; 0: it has the temperature of the room"""

    @property
    def u_correction_g(self) -> float:
        return self.mpe_g / sqrt(3) if self.expanded_u_g is None else self.expanded_u_g / self.k


class Buoyancy(Protocol):
    """What air does to a weight on the scale."""

    def correction_g(self, weight: Weight) -> float: ...

    def u_g(self, weight: Weight) -> float: ...


class AdjustedBefore:
    """No correction; the scale was adjusted immediately before with R 111 weights."""

    def correction_g(self, weight: Weight) -> float:
        return 0.0

    def u_g(self, weight: Weight) -> float:
        return weight.mpe_g / (4 * sqrt(3))


class NotAdjusted:
    """No correction; the scale was adjusted at some other time: air density may have changed by a tenth."""

    def correction_g(self, weight: Weight) -> float:
        return 0.0

    def u_g(self, weight: Weight) -> float:
        return (0.1 * AIR_KG_M3 * weight.nominal_g / DENSITY_KG_M3 + weight.mpe_g / 4) / sqrt(3)


@dataclass(frozen=True)
class RoomTemperatureKnown:
    """No correction; not adjusted before, but it is known how far the temperature of the room varies."""

    span_k: float
    """highest minus lowest temperature"""

    def correction_g(self, weight: Weight) -> float:
        return 0.0

    def u_g(self, weight: Weight) -> float:
        return relative_u_of_air(self.span_k) * weight.nominal_g + weight.mpe_g / (4 * sqrt(3))


@dataclass(frozen=True)
class Corrected:
    """The correction for the air there was, at the test and when the scale was adjusted."""

    air: AirDensity
    air_at_adjustment: AirDensity
    material: Material = STEEL

    @cached_property
    def _factor(self) -> tuple[float, float]:
        steps = adjustment_air(self.air_at_adjustment, self.material), present_air(self.air, self.material)
        return combined(steps)

    def correction_g(self, weight: Weight) -> float:
        return weight.nominal_g * (1 / self._factor[0] - 1)

    def u_g(self, weight: Weight) -> float:
        return weight.nominal_g * self._factor[1]


def relative_u_of_air(span_k: float) -> float:
    """Return the relative effect of air that changes with weather and a room temperature varying by span_k."""
    return sqrt(1.07e-4 + 1.33e-6 * span_k**2) * AIR_KG_M3 / DENSITY_KG_M3


@dataclass(frozen=True)
class Repeatability:
    """How far indications of one load scatter."""

    s_g: float
    degrees_of_freedom: float

    @classmethod
    def of(cls, *series_g: Sequence[float]) -> "Repeatability":
        """Return it from one series of indications, or pooled from several (JCGM 100:2008, H.3.6, note)."""
        if not series_g or min(map(len, series_g)) < 2:
            raise InputError("a series of repeated indications has fewer than 2; expected at least 2")
        degrees = [len(series) - 1 for series in series_g]
        squares = sum(n * stdev(series) ** 2 for n, series in zip(degrees, series_g, strict=True))
        return cls(sqrt(squares / sum(degrees)), sum(degrees))


def eccentricity(load_g: float, centre_g: float, off_centre_g: Sequence[float]) -> float:
    """Return the relative standard uncertainty of an indication for a load that may stand anywhere on the pan."""
    return max((abs(indication - centre_g) for indication in off_centre_g), default=0.0) / (2 * load_g * sqrt(3))


@dataclass(frozen=True)
class ScaleUnderTest:
    """What is known of the scale under test, whatever the load."""

    division_g: float
    repeatability: Repeatability
    u_relative_eccentricity: float
    buoyancy: Buoyancy
    division_at_zero_g: float | None = None
    """None: the same as under load"""

    @property
    def u_zero_g(self) -> float:
        division_g = self.division_g if self.division_at_zero_g is None else self.division_at_zero_g
        return division_g / sqrt(12)


@dataclass(frozen=True)
class AppliedLoad:
    """What stood on the scale, and what it showed."""

    weights: Sequence[Weight]
    """one that was used n times, with n - 1 ballasts in its place, stands here n times"""
    indication_g: float
    """mean of the readings, zero taken off"""
    readings: int = 1
    """of how many placings of the load the indication is the mean"""
    division_g: float | None = None
    """the step of the small weights where the changeover points were found with them; None: that of the scale"""
    ballast_g: float = 0.0
    """sum of the differences of indication between ballast and the weight it replaced"""
    u_substituted_indications_g: tuple[float, ...] = ()
    """standard uncertainty of the indication at each substitution, which counts twice (cg-18, 7.1.2)"""


@dataclass(frozen=True)
class ErrorOfIndication:
    """The error at one test load, with its budget."""

    indication_g: float
    reference_mass_g: float
    u_indication_g: float
    u_reference_mass_g: float
    budget: Budget
    """of the error, in g"""

    @property
    def error_g(self) -> float:
        return self.budget.estimate

    @property
    def u_error_g(self) -> float:
        return self.budget.u

    def as_json(self) -> dict[str, Any]:
        """Return one JSON object; degrees of freedom are null where they are infinite."""
        return {
            "indication_g": self.indication_g,
            "reference_mass_g": self.reference_mass_g,
            "error_g": self.error_g,
            "u_indication_g": self.u_indication_g,
            "u_reference_mass_g": self.u_reference_mass_g,
            "u_error_g": self.u_error_g,
            "budget": self.budget.as_json("g"),
        }


def error_of_indication(scale: ScaleUnderTest, load: AppliedLoad) -> ErrorOfIndication:
    """Return the error of indication at a test load, with its budget."""
    of_indication, of_mass = _indication_components(scale, load), _mass_components(scale, load)
    correction_g = sum(weight.correction_g + scale.buoyancy.correction_g(weight) for weight in load.weights)
    mass_g = sum(weight.nominal_g for weight in load.weights) + correction_g + load.ballast_g
    budget = Budget(load.indication_g - mass_g, (*of_indication, *of_mass))
    return ErrorOfIndication(load.indication_g, mass_g, _combined(of_indication), _combined(of_mass), budget)


def _indication_components(scale: ScaleUnderTest, load: AppliedLoad) -> tuple[Component, ...]:
    division_g = scale.division_g if load.division_g is None else load.division_g
    s_g, freedom = scale.repeatability.s_g / sqrt(load.readings), scale.repeatability.degrees_of_freedom
    eccentric_g = scale.u_relative_eccentricity * abs(load.indication_g)
    return (
        Component("division at zero", scale.u_zero_g, "B", "rectangular", sensitivity=-1.0),
        from_limits("division under load", division_g / 2),
        Component("repeatability", s_g, "A", "t", freedom),
        Component("eccentricity", eccentric_g, "B", "rectangular"),
    )


def _mass_components(scale: ScaleUnderTest, load: AppliedLoad) -> tuple[Component, ...]:
    weights = load.weights
    certified = any(weight.expanded_u_g is not None for weight in weights)
    u_of_each = (
        ("reference weights", "normal" if certified else "rectangular", [w.u_correction_g for w in weights]),
        ("air buoyancy", "rectangular", [scale.buoyancy.u_g(w) for w in weights]),
        ("drift of the weights", "rectangular", [w.drift_g / sqrt(3) for w in weights]),
        ("convection at the weights", "rectangular", [w.convection_g / sqrt(3) for w in weights]),
    )
    components = [Component(name, sum(u), "B", shape, sensitivity=-1.0) for name, shape, u in u_of_each]
    if load.u_substituted_indications_g:
        components.append(substitution(load.u_substituted_indications_g))
    return tuple(components)


def substitution(u_indications_g: Sequence[float]) -> Component:
    """Return what substituting ballast adds: two indications at each exchange, so sqrt(2 sum of u2(I)).

    The other part grows through the reference mass, which stands n times in a load built up of n (cg-18, 7.1.2).
    """
    return Component("substituted ballast", sqrt(2) * hypot(*u_indications_g), "B", "normal", sensitivity=-1.0)


def _combined(components: Sequence[Component]) -> float:
    return hypot(*(component.u for component in components))
