"""How wrong the indication of a scale may be, by OIML R 76, and how fine a scale a mass can test."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from scalewright.errors import InputError

# OIML R 76-1:2006, table 6: up to and including this many e, half an e; then one e; then one and a half.
_BANDS_E = {
    "I": (50_000, 200_000, None),
    "II": (5_000, 20_000, 100_000),
    "III": (500, 2_000, 10_000),
    "IIII": (50, 200, 1_000),
}


@dataclass(frozen=True)
class _Row:
    """A row of OIML R 76-1:2006, table 3: for e from and up to these, how many e Max may be, and Min."""

    e_from_g: Fraction
    e_up_to_g: Fraction | None
    n_from: int
    n_up_to: int | None
    min_e: int


_MG = Fraction(1, 1000)
_TABLE_3 = {
    "I": (_Row(_MG, None, 50_000, None, 100),),
    "II": (_Row(_MG, 50 * _MG, 100, 100_000, 20), _Row(100 * _MG, None, 5_000, 100_000, 50)),
    "III": (_Row(100 * _MG, Fraction(2), 100, 10_000, 20), _Row(Fraction(5), None, 500, 10_000, 20)),
    "IIII": (_Row(Fraction(5), None, 100, 1_000, 10),),
}


class Tolerance(Protocol):
    """Limits of error over the range of a scale."""

    @property
    def source(self) -> str:
        """The standard and clause, or the file, the limits come from."""

    def permissible_error_g(self, load_g: Fraction, *, in_service: bool = False) -> Fraction:
        """Return how far the indication may be from a load. Raises InputError where there is no limit."""


@dataclass(frozen=True)
class AccuracyClass:
    """The limits of one OIML R 76 accuracy class for a scale with verification interval e."""

    name: str
    """I, II, III or IIII."""
    e_g: Fraction
    """The verification interval."""

    def __post_init__(self) -> None:
        if self.name not in _BANDS_E:
            raise InputError(f"accuracy class {self.name!r}, expected one of {', '.join(_BANDS_E)}")
        if self.e_g <= 0:
            raise InputError(f"e = {float(self.e_g):g} g, expected more than 0")

    @property
    def source(self) -> str:
        return f"OIML R 76-1:2006, table 6, class {self.name}, e = {float(self.e_g):g} g"

    @property
    def min_g(self) -> Fraction | None:
        """Min, the load below which relative errors may be excessive (table 3); None where the class has no such e."""
        row = self._row()
        return row.min_e * self.e_g if row else None

    def permissible_error_g(self, load_g: Fraction, *, in_service: bool = False) -> Fraction:
        """Return the maximum permissible error at a load, on initial verification or (twice that) in service.

        Source: OIML R 76-1:2006, 3.5.1 and table 6 (initial), 3.5.2 (in service). Raises InputError for a load
        beyond the class's largest number of intervals.
        """
        intervals = abs(load_g) / self.e_g
        for halves, limit in enumerate(_BANDS_E[self.name], start=1):
            if limit is None or intervals <= limit:
                return Fraction(halves, 2) * self.e_g * (2 if in_service else 1)
        largest = _BANDS_E[self.name][-1]
        raise InputError(f"{float(load_g):g} g is {float(intervals):g} e; class {self.name} ends at {largest} e")

    def objections(self, max_g: Fraction) -> list[str]:
        """Return what keeps a scale of this class, this e and this Max from existing; nothing where it may.

        Source: OIML R 76-1:2006, 3.2 and table 3 (e is 1, 2 or 5 times a power of ten: 3.2.1).
        """
        e, found = f"e = {float(self.e_g):g} g", []
        if not _is_one_two_five(self.e_g):
            found.append(f"{e}; expected 1, 2 or 5 times a power of ten")
        row = self._row()
        if row is None:
            smallest_g = float(_TABLE_3[self.name][0].e_from_g)
            return [*found, f"{e}; class {self.name} begins at {smallest_g:g} g"]
        n = max_g / self.e_g
        if n < row.n_from:
            found.append(f"Max is {float(n):g} e; class {self.name} with {e} begins at {row.n_from} e")
        if row.n_up_to is not None and n > row.n_up_to:
            found.append(f"Max is {float(n):g} e; class {self.name} ends at {row.n_up_to} e")
        return found

    def _row(self) -> _Row | None:
        for row in reversed(_TABLE_3[self.name]):
            if self.e_g >= row.e_from_g:
                return row
        return None


def finest_class(max_g: Fraction, error_g: Fraction) -> AccuracyClass | None:
    """Return the best class and smallest e for a scale of this Max that a mass of Max, so wrong at most, can test.

    error_g: the largest error of the mass. It may be a third of the maximum permissible error on initial verification
    (OIML R 76-1:2006, 3.7.1). None where the mass is too uncertain for any class.
    """
    for name in _BANDS_E:
        for e_g in _one_two_five():
            candidate = AccuracyClass(name, e_g)
            if not candidate.objections(max_g) and 3 * error_g <= candidate.permissible_error_g(max_g):
                return candidate
    return None


def _one_two_five() -> Iterator[Fraction]:
    """From 1 mg, the smallest e of table 3, to 50 t."""
    for exponent in range(-3, 8):
        for mantissa in (1, 2, 5):
            yield mantissa * Fraction(10) ** exponent


def _is_one_two_five(value: Fraction) -> bool:
    while value < 1:
        value *= 10
    while value >= 10:
        value /= 10
    return value in (1, 2, 5)
