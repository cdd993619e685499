"""What a procedure may ask for, and the answers it gets. All of it is plain data that a journal can keep and replay."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


@dataclass(frozen=True)
class PlaceLoad:
    """Put exactly this load on the scale. Answer: None."""

    load_g: Decimal
    """0: clear the pan"""


@dataclass(frozen=True)
class TakeStillReading:
    """Wait until the load is at rest and take `readings` raw counts. Answer: StillReading."""

    readings: int


@dataclass(frozen=True)
class StoreCoefficients:
    """Store these coefficients in the device and read them back. Answer: what was read back."""

    data: bytes


Request = PlaceLoad | TakeStillReading | StoreCoefficients


@dataclass(frozen=True)
class StillReading:
    """Readings of a load at rest."""

    counts_sum: int
    """the sum of the raw counts, so that the mean is exact"""
    readings: int
    """how many there are"""
    spread_counts: int
    """the largest less the smallest"""
    time_ms: int
    """device time of the last"""
    temperature_c: Decimal | None = None
    """of the scale at the last; None where it is not known"""

    @property
    def mean_counts(self) -> Fraction:
        """The mean of the raw counts, exact."""
        return Fraction(self.counts_sum, self.readings)


Answer = StillReading | bytes | None
