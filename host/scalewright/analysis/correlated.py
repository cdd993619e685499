"""Loads that share masses: what is known about one of them is known about the others.

A set of a few masses, placed in combination, gives many loads. An error of the 200 g mass is in each load that holds
it, so the loads are correlated and a fit that takes them for independent claims too much. Generalised least squares
(Gauss-Markov regression, ISO/TS 28037:2010, clause 10) takes the whole covariance matrix.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import numpy as np

from scalewright.analysis.calibration_function import Array
from scalewright.errors import InputError


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

    loads_g: tuple[Fraction, ...]
    covariance_g2: Array


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
    loads = tuple(sum((Fraction(masses[name].mass_g) for name in names), Fraction(0)) for names in combinations)
    return CombinedLoads(loads, counts @ (between * np.outer(u, u)) @ counts.T)


def _times(name: str, names: Sequence[str], masses: Mapping[str, SetMass]) -> int:
    for wanted in names:
        if wanted not in masses:
            raise InputError(f"mass {wanted!r} is not in the set; expected one of {', '.join(masses)}")
    return names.count(name)
