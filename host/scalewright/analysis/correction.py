"""A correction as a line of its own: what it multiplies by, how sure that is, and whether it is applied."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, prod


@dataclass(frozen=True)
class Correction:
    """One factor between what a scale shows and the mass on it."""

    name: str
    factor: float
    contributions: tuple[tuple[str, float], ...] = ()
    """by input: its relative sensitivity times its standard uncertainty, with the sign; one input may act twice"""
    applied: bool = True

    @property
    def u_relative(self) -> float:
        """The relative standard uncertainty of the factor."""
        return _combined_u(self.contributions)


def combined(corrections: Sequence[Correction]) -> tuple[float, float]:
    """Return the product of the applied factors and its relative standard uncertainty.

    An input that acts through several factors is summed with its signs first, so that its effects may cancel
    (JCGM 100:2008, 5.1.3: the sensitivity of the result to each input).
    """
    applied = [correction for correction in corrections if correction.applied]
    return prod(c.factor for c in applied), _combined_u([pair for c in applied for pair in c.contributions])


def _combined_u(contributions: Sequence[tuple[str, float]]) -> float:
    by_input: dict[str, float] = {}
    for name, contribution in contributions:
        by_input[name] = by_input.get(name, 0.0) + contribution
    return hypot(*by_input.values())
