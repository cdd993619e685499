"""What a procedure tells while it goes on: which part it is in, and what it found beside what is allowed."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


@dataclass(frozen=True)
class Stage:
    """A part of a procedure begins."""

    title: str


@dataclass(frozen=True)
class Outcome:
    """One figure of a test, and the limit it is held against."""

    what: str
    """such as "error at 500 g, up" """
    value: Fraction
    limit: Fraction
    """how large the value may be, of either sign"""
    source: str
    """the standard and clause, or the table, that the limit comes from"""
    unit: str = "g"
    stage: str = ""
    """title of the part it belongs to; the run fills it in"""
    load_g: Decimal | None = None
    """the load it was found at, where errors are drawn against loads"""

    @property
    def passes(self) -> bool:
        """Is the value within the limit?"""
        return abs(self.value) <= self.limit
