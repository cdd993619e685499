"""Test loads heavier than the heaviest reference mass, by substituting ballast for it; and what that costs.

The reference mass is weighed, then replaced by ballast that gives nearly the same indication: the ballast now stands
for the mass, but for the difference of the two indications. On top of it comes the reference mass again, and so on.
The test loads and their uncertainty (EURAMET cg-18, version 4.0, 4.3.3 and 7.1.2.6; from memory):

    L_T,n = n m_ref + sum of dI_j,  j = 1 .. n - 1        dI_j = I(ballast so far) - I(L_T,j)
    u2(L_T,n) = n**2 u2(m_ref) + 2 sum of u2(I_j)

The same mass enters n times, so its uncertainty grows with n; each substitution adds two readings. All test loads of
one build-up share those, which makes them correlated: the covariance is here too, for `generalised_regression`.
"""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from scalewright.analysis.calibration_function import Array
from scalewright.errors import InputError
from scalewright.table_file import read_table

SUBSTITUTION_COLUMNS = ("with_mass_g", "with_ballast_g", "u_indication_g")
_MOST = 0.01  # common practice: ballast within 1 % of what it replaces, so that the scale's own error does not matter


@dataclass(frozen=True)
class Substitution:
    """One exchange of the reference mass for ballast, as the scale showed it."""

    with_mass_g: Fraction
    """indication with the reference mass on top of the ballast so far: I(L_T,j)"""
    with_ballast_g: Fraction
    """indication after ballast took the reference mass's place"""
    u_indication_g: float
    """standard uncertainty of either indication: repeatability, resolution, eccentricity"""


@dataclass(frozen=True)
class BuiltUpLoads:
    """The test loads of one build-up: the n-th is the reference mass on n - 1 ballasts."""

    loads_g: tuple[Fraction, ...]
    covariance_g2: Array

    @property
    def u_loads_g(self) -> Array:
        """The standard uncertainty of each test load."""
        return np.sqrt(np.diagonal(self.covariance_g2))


def read_substitutions(path: str | os.PathLike[str]) -> list[Substitution]:
    """Return the substitutions in a CSV file, in their order. Raises InputError, naming file, line and column."""
    steps = []
    for row in read_table(path, SUBSTITUTION_COLUMNS).rows:
        u_indication_g = row.number("u_indication_g")
        if u_indication_g < 0:
            raise row.problem("u_indication_g", f"{u_indication_g} found; expected an uncertainty of 0 or more")
        with_mass, with_ballast = (Fraction(row.number(column)) for column in SUBSTITUTION_COLUMNS[:2])
        steps.append(Substitution(with_mass, with_ballast, float(u_indication_g)))
    return steps


def build_up(
    reference_g: Fraction, u_reference_g: float, substitutions: Sequence[Substitution]
) -> BuiltUpLoads:
    """Return the test loads, one more than there were substitutions.

    The indications may be those of the scale as found: only their differences count, and these are small. Raises
    InputError where a ballast differs by more than 1 % from what it replaced.
    """
    loads = [reference_g]
    for number, step in enumerate(substitutions, 1):
        difference = step.with_ballast_g - step.with_mass_g
        if abs(difference) > Fraction(_MOST) * reference_g:
            raise InputError(
                f"substitution {number}: ballast differs by {float(difference):g} g from {float(reference_g):g} g",
                remedy="trim the ballast to within 1 % of the reference mass",
            )
        loads.append(loads[-1] + reference_g + difference)
    times = np.arange(1.0, len(loads) + 1)
    gained = np.cumsum([0.0, *(2 * step.u_indication_g**2 for step in substitutions)])
    return BuiltUpLoads(tuple(loads), np.outer(times, times) * u_reference_g**2 + np.minimum.outer(gained, gained))
