"""NIST Handbook 44 tolerances for scales: from memory, and the editions differ. Confirm them before use."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from scalewright.errors import InputError

# Section 2.20, table 6, from memory: maintenance tolerance in d up to and including so many d.
_BANDS_D = {
    "I": ((50_000, 1), (200_000, 2), (None, 3)),
    "II": ((5_000, 1), (20_000, 2), (None, 3)),
    "III": ((500, 1), (2_000, 2), (4_000, 3), (None, 5)),
    "IIII": ((50, 1), (200, 2), (400, 3), (None, 5)),
}
_LARGE = "III L"
_LARGE_STEP_D = 500
CLASSES = (*_BANDS_D, _LARGE)


@dataclass(frozen=True)
class Handbook44Class:
    """The tolerances of one Handbook 44 class for a scale with division d."""

    name: str
    """I, II, III, III L or IIII"""
    d_g: Fraction

    def __post_init__(self) -> None:
        if self.name not in CLASSES:
            raise InputError(f"Handbook 44 class {self.name!r}, expected one of {', '.join(CLASSES)}")
        if self.d_g <= 0:
            raise InputError(f"d = {float(self.d_g):g} g, expected more than 0")

    @property
    def source(self) -> str:
        d = f"d = {float(self.d_g):g} g"
        return f"NIST Handbook 44, section 2.20, class {self.name}, {d} (from memory, edition dependent)"

    def permissible_error_g(self, load_g: Fraction, *, in_service: bool = False) -> Fraction:
        """Return the acceptance tolerance at a load, or in service the maintenance tolerance, which is twice that."""
        divisions = abs(load_g) / self.d_g
        return Fraction(self._maintenance_d(divisions), 1 if in_service else 2) * self.d_g

    def _maintenance_d(self, divisions: Fraction) -> int:
        if self.name == _LARGE:
            return max(1, ceil(divisions / _LARGE_STEP_D))
        return next(steps for limit, steps in _BANDS_D[self.name] if limit is None or divisions <= limit)
