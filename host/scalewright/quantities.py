"""The values that cross from one part of the host to another, frozen."""

from dataclasses import dataclass
from decimal import Decimal

DIRECTIONS = ("up", "down", "")


@dataclass(frozen=True)
class Observation:
    """One point of a calibration: a load, and what the ADC showed under it.

    Numbers are decimals exactly as they were written or measured, trailing zeros too, never floats. Uncertainties are
    standard uncertainties (k = 1; JCGM 100:2008, 2.3.1); None where they were not stated.
    """

    load_g: Decimal
    """the reference mass on the scale"""
    counts: Decimal
    """the mean of the readings under that load"""
    load_u_g: Decimal | None = None
    """standard uncertainty of load_g"""
    counts_u: Decimal | None = None
    """standard uncertainty of counts"""
    n: int = 1
    """how many readings counts is the mean of"""
    direction: str = ""
    """whether the load was reached from below (up) or from above (down); empty where not known"""
    temperature_c: Decimal | None = None
    """temperature of the scale"""
