"""Loads that share masses: what is known about one of them is known about the others.

A set of a few masses, placed in combination, gives many loads. An error of the 200 g mass is in each load that holds
it, so the loads are correlated and a fit that takes them for independent claims too much. Generalised least squares
(Gauss-Markov regression, ISO/TS 28037:2010, clause 10) takes the whole covariance matrix.
"""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from scalewright.analysis.calibration_function import Array, CalibrationFunction
from scalewright.analysis.fit_points import FitPoints
from scalewright.analysis.generalised_regression import generalised_regression
from scalewright.errors import InputError
from scalewright.recordings import Observations
from scalewright.table_file import read_table

MASS_COLUMNS = ("name", "mass_g", "u_mass_g")
_NOMINAL = Decimal("1e-3")  # common practice: a nominal load is within 0.1 % of what its masses make


@dataclass(frozen=True)
class SetMass:
    """One mass of a set."""

    mass_g: Decimal
    """conventional mass"""
    u_mass_g: Decimal
    """its standard uncertainty"""


@dataclass(frozen=True)
class CombinedLoads:
    """Loads made of the masses of one set, and how they vary together."""

    loads_g: tuple[Decimal, ...]
    covariance_g2: Array

    @property
    def u_loads_g(self) -> Array:
        """The standard uncertainty of each load."""
        return np.sqrt(np.diagonal(self.covariance_g2))


def combine(
    masses: Mapping[str, SetMass], combinations: Sequence[Sequence[str]], correlation: float = 1.0
) -> CombinedLoads:
    """Return the loads that the named masses make together, and their covariance matrix.

    correlation: between any two masses of the set. 1, the default, is what EURAMET cg-18 does with masses calibrated
    against one standard when it adds their uncertainties arithmetically (version 4.0, 7.1.2, from memory); 0 suits
    masses whose certificates are independent. Raises InputError on a name that is not in the set.
    """
    if not 0 <= correlation <= 1:
        raise InputError(f"correlation {correlation:g} between the masses of a set; expected 0 to 1")
    counts = np.array([[_times(name, names, masses) for name in masses] for names in combinations], float)
    u = np.array([float(mass.u_mass_g) for mass in masses.values()])
    between = np.full((len(u), len(u)), correlation)
    np.fill_diagonal(between, 1.0)
    loads = tuple(sum((masses[name].mass_g for name in names), Decimal(0)) for names in combinations)
    return CombinedLoads(loads, counts @ (between * np.outer(u, u)) @ counts.T)


def read_mass_set(path: str | os.PathLike[str]) -> dict[str, SetMass]:
    """Return the masses of a set by name, from a CSV file with name,mass_g,u_mass_g (u: standard uncertainty).

    Raises InputError, naming file, line and column.
    """
    masses: dict[str, SetMass] = {}
    for row in read_table(path, MASS_COLUMNS).rows:
        name, mass_g, u_mass_g = row.text("name"), row.number("mass_g"), row.number("u_mass_g")
        if not name or "+" in name or name in masses:
            raise row.problem("name", f"{name!a} found; expected a name of its own, without +")
        if mass_g <= 0 or u_mass_g < 0:
            raise row.problem("mass_g", "expected a mass above 0 and an uncertainty of 0 or more")
        masses[name] = SetMass(mass_g, u_mass_g)
    return masses


def loads_of_set(
    observations: Observations, masses: Mapping[str, SetMass], correlation: float = 1.0
) -> tuple[Observations, Array]:
    """Return the points with the loads that their masses make, and the covariance of those loads.

    The further column `masses` of the file names the masses of each load, joined by +; empty for the empty scale.
    load_g there is nominal. Raises InputError where the column is missing, a name is unknown, or the masses make
    another load.
    """
    if "masses" not in observations.extra:
        message = "no such column; expected the masses of each load, such as 500+200"
        raise InputError(message, file=observations.file, column="masses")
    combinations = [[name.strip() for name in cell.split("+") if name.strip()] for cell in observations.extra["masses"]]
    for names, line in zip(combinations, observations.lines, strict=True):
        for name in names:
            if name not in masses:
                message = f"{name!a} is not in the set; expected one of {', '.join(masses)}"
                raise InputError(message, file=observations.file, line=line, column="masses")
    combined = combine(masses, combinations, correlation)
    for point, made, line in zip(observations.points, combined.loads_g, observations.lines, strict=True):
        if abs(point.load_g - made) > _NOMINAL * made:
            message = f"the masses make {made} g; expected {point.load_g} g, which is load_g, within 0.1 %"
            raise InputError(message, file=observations.file, line=line, column="masses")
    points = zip(observations.points, combined.loads_g, combined.u_loads_g, strict=True)
    loaded = tuple(replace(point, load_g=load, load_u_g=Decimal(repr(float(u)))) for point, load, u in points)
    return replace(observations, points=loaded), combined.covariance_g2


def fit_correlated(points: FitPoints, cov_loads_g2: Array, degree: int) -> CalibrationFunction:
    """Return the curve through points whose loads have this covariance, and whose counts are independent.

    Raises InputError where counts_u is not stated, and as `generalised_regression` does.
    """
    u_y, u_x = points.u_y(may_be_zero=True), points.u_x()
    u_counts = u_y if points.response == "counts" else u_x
    if u_counts is None:
        raise InputError("not stated; expected a standard uncertainty in every row", file=points.observations.file,
                         column="counts_u")  # fmt: skip
    cov_counts = np.diag(np.square(np.array(u_counts, float)))
    cov_y, cov_x = (cov_counts, cov_loads_g2) if points.response == "counts" else (cov_loads_g2, cov_counts)
    x, y = np.array(points.x, float), np.array(points.y, float)
    through = (0.0, 0.0) if points.through_zero else None
    return generalised_regression(x, y, degree, cov_x=cov_x, cov_y=cov_y, through=through)


def _times(name: str, names: Sequence[str], masses: Mapping[str, SetMass]) -> int:
    for wanted in names:
        if wanted not in masses:
            raise InputError(f"mass {wanted!r} is not in the set; expected one of {', '.join(masses)}")
    return names.count(name)
