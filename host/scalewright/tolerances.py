"""How wrong an indication may be: maximum permissible errors by standard and clause."""

from dataclasses import dataclass
from fractions import Fraction

from scalewright.errors import InputError

# OIML R 76-1:2006, table 6: up to and including this many e, half an e; then one e; then one and a half.
_BANDS_E = {
    "I": (50_000, 200_000, None),
    "II": (5_000, 20_000, 100_000),
    "III": (500, 2_000, 10_000),
    "IIII": (50, 200, 1_000),
}


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
