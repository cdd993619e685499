"""Faults by name, in the words of a technician: what each is, what points to it, and what to check, in order.

What is checked first is common practice.
"""

from dataclasses import dataclass
from fractions import Fraction

CHECKS = {
    "temperature changed": "keep sun, heaters and draughts away, let the scale stand until its thermometer is steady, "
    "then repeat; compensate it for temperature (scalewright drift)",
    "does not repeat": "keep draughts and vibration away; see that nothing touches the pan, that it sits firmly, and "
    "that the load is put down gently, always in the middle; judge the rest once it repeats",
    "corner error": "level the scale; see that the pan sits well and nothing touches it there; that the cell, or the "
    "cells under that side, are screwed down flat; then trim that corner or replace the cell under it",
    "bad reference mass": "look whether it is the right piece, clean and whole; weigh it against another; calibrate it",
    "hysteresis": "see that nothing rubs or binds as the pan sinks and that screws are tight; if it stays, the cell",
    "wrong span": "level the scale; was it adjusted elsewhere (gravity), or with another mass? Adjust it",
    "bent": "adjust it at more loads, with a curve of degree 2 or 3",
    "creep": "see that nothing yields under the load: feet, rubber, table, adhesive; if it stays, the cell is damp or "
    "was overloaded: replace it",
    "zero shift": "see what lies on or under the pan; was the scale overloaded or knocked? Clear it and repeat; if "
    "the zero jumps again under load, the cell is overloaded or loose",
    "moving zero": "let it warm up; keep draughts and vibration away; see that nothing touches the pan and that "
    "cables and plugs are dry and firm",
    "out of level": "level the scale before every use; see that the cell is mounted square; at 50/1000 any load weighs "
    "0.12 % less (cosine), so a scale of more than 1200 e needs a level indicator, and is tested at its mark",
    "warming up": "leave it switched on, or wait before use as long as it moved",
    "span with temperature": "compensate it for temperature (scalewright drift), or use it in a narrower range",
    "zero with temperature": "compensate it for temperature (scalewright drift), and set zero before each weighing",
}
"""fault -> what to check"""


@dataclass(frozen=True)
class Suspicion:
    """A fault that results point to."""

    fault: str
    """one of CHECKS"""
    seen: str
    """what points to it, with figures"""

    @property
    def check(self) -> str:
        """What to check, in order."""
        return CHECKS[self.fault]

    def __str__(self) -> str:
        return f"{self.fault}: {self.seen}. To check: {self.check}."


def grams(value_g: Fraction) -> str:
    """Return an amount in words."""
    return f"{float(value_g):.3g} g"


def signed(value_g: Fraction) -> str:
    """Return a change in words."""
    return f"{float(value_g):+.3g} g"


def more(value_g: Fraction) -> str:
    """Return how much more or less something reads."""
    return f"{grams(abs(value_g))} {'more' if value_g > 0 else 'less'}"
