"""Weights of the OIML R 111 classes: how wrong they may be, and what they may be made of."""

import os
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from scalewright.errors import InputError
from scalewright.table_file import read_table

CLASSES = ("E1", "E2", "F1", "F2", "M1", "M1_2", "M2", "M2_3", "M3")
"""as OIML R 111 names them, but for the line: M1_2 is M1-2"""
_TABLE_1 = os.path.join(os.path.dirname(__file__), "tables", "oiml_r111_mpe.csv")
_AIR_CHANGE_KG_M3 = Fraction(12, 100)  # 10 % of 1.2 kg/m3
_REFERENCE_DENSITY_KG_M3 = 8000


@dataclass(frozen=True)
class WeightClass:
    """The limits of one OIML R 111 class of weights."""

    name: str
    """one of CLASSES"""

    def __post_init__(self) -> None:
        if self.name not in CLASSES:
            raise InputError(f"weight class {self.name!r}, expected one of {', '.join(CLASSES)}")

    @property
    def source(self) -> str:
        return f"OIML R 111-1:2004, table 1, class {self.name}"

    def permissible_error_g(self, load_g: Fraction, *, in_service: bool = False) -> Fraction:
        """Return the maximum permissible error of a weight of that nominal value, the same for all occasions.

        Source: OIML R 111-1:2004, table 1. Raises InputError where the class has no such weight.
        """
        limits_g = _limits_g()[self.name]
        if load_g not in limits_g:
            nominals = ", ".join(f"{float(nominal_g):g}" for nominal_g in limits_g)
            raise InputError(f"no {self.name} weight of {float(load_g):g} g; expected one of {nominals} g")
        return limits_g[load_g]

    def density_limits_kg_m3(self, nominal_g: Fraction) -> tuple[Fraction, Fraction | None]:
        """Return the lowest and the highest density a weight may have; None: however high.

        Air 10 % lighter or heavier than 1.2 kg/m3 may not shift the weight by more than a quarter of its maximum
        permissible error (OIML R 111-1:2004, 10.1, from memory; its table 5 prints them rounded, a few stricter).
        """
        allowed = self.permissible_error_g(nominal_g) / (4 * nominal_g * _AIR_CHANGE_KG_M3)
        reference = Fraction(1, _REFERENCE_DENSITY_KG_M3)
        return 1 / (reference + allowed), 1 / (reference - allowed) if allowed < reference else None


@cache
def _limits_g() -> dict[str, dict[Fraction, Fraction]]:
    """Table 1: by class and nominal value, both in g."""
    limits: dict[str, dict[Fraction, Fraction]] = {name: {} for name in CLASSES}
    for row in read_table(_TABLE_1, ("nominal_g", *(f"{name}_mg" for name in CLASSES))).rows:
        for name in CLASSES:
            limit_mg = row.optional_number(f"{name}_mg")
            if limit_mg is not None:
                limits[name][Fraction(row.number("nominal_g"))] = Fraction(limit_mg) / 1000
    return limits
