"""The rules that a Shewhart chart is read by, named, with what each means at the bench.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2: the Western Electric rules and its trend rules.
Chance alone sets the first off once in 371 checks, one of the first four once in 92 (there, after Champ and Woodall).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

Found = tuple[tuple[int, ...], str]
"""the points, and the side"""


@dataclass(frozen=True)
class Signal:
    """Something out of the ordinary."""

    rule: str
    points: tuple[int, ...]
    """which values, by their number from 0"""
    side: str
    """above or below the base line; rising, falling, alternating"""
    meaning: str
    """what it means at the bench"""


@dataclass(frozen=True)
class Rule:
    """One rule."""

    name: str
    words: str
    meaning: str
    search: Callable[[Sequence[float]], Iterator[Found]]

    def find(self, deviations: Sequence[float]) -> list[Signal]:
        """Return what the rule finds in deviations from the base line, in its standard deviations."""
        return [Signal(self.name, points, side, self.meaning) for points, side in self.search(deviations)]


def runs(flags: Sequence[bool], least: int) -> Iterator[tuple[int, ...]]:
    """Iterate over the places of at least so many flags in a row, each row whole."""
    start = 0
    for end in range(len(flags) + 1):
        if end == len(flags) or not flags[end]:
            if end - start >= least:
                yield tuple(range(start, end))
            start = end + 1


def _beyond(least: int, of: int, sds: float, deviations: Sequence[float]) -> Iterator[Found]:
    """Find `least` of `of` in a row on one side beyond so many standard deviations; what overlaps is one finding."""
    for side, sign in (("above", 1), ("below", -1)):
        flagged = [i for i, deviation in enumerate(deviations) if sign * deviation > sds]
        points: list[int] = []
        for k in range(least - 1, len(flagged)):
            window = flagged[k - least + 1 : k + 1]
            if window[-1] - window[0] >= of:
                continue
            if points and points[-1] < window[0]:
                yield tuple(points), side
                points = []
            points += [point for point in window if not points or point > points[-1]]
        if points:
            yield tuple(points), side


def _trend(least: int, deviations: Sequence[float]) -> Iterator[Found]:
    steps = [after - before for before, after in pairwise(deviations)]
    for side, sign in (("rising", 1), ("falling", -1)):
        for places in runs([sign * step > 0 for step in steps], least - 1):
            yield (*places, places[-1] + 1), side


def _alternation(least: int, deviations: Sequence[float]) -> Iterator[Found]:
    steps = [after - before for before, after in pairwise(deviations)]
    turns = [before * after < 0 for before, after in pairwise(steps)]
    for places in runs(turns, least - 2):
        yield (*places, places[-1] + 1, places[-1] + 2), "alternating"


_ALL = (
    Rule(
        "beyond 3 sd",
        "one check more than 3 standard deviations away",
        "not like the others: clean pan and mass, look at level and zero, repeat the check; if it stays so, calibrate",
        partial(_beyond, 1, 1, 3.0),
    ),
    Rule(
        "2 of 3 beyond 2 sd",
        "two of three checks in a row more than 2 standard deviations away on one side",
        "the scale or the check mass has probably changed: repeat with another mass",
        partial(_beyond, 2, 3, 2.0),
    ),
    Rule(
        "4 of 5 beyond 1 sd",
        "four of five checks in a row more than 1 standard deviation away on one side",
        "a small shift: look for what changed, the place, the level, the temperature, the check mass",
        partial(_beyond, 4, 5, 1.0),
    ),
    Rule(
        "8 on one side",
        "eight checks in a row on one side of the base line",
        "a lasting shift, small as it may be: look for what changed when it began",
        partial(_beyond, 8, 8, 0.0),
    ),
    Rule(
        "6 in a trend",
        "six checks in a row each above, or each below, the one before",
        "something creeps in one direction: dirt on the pan, a wearing mass, a drifting cell",
        partial(_trend, 6),
    ),
    Rule(
        "14 alternating",
        "fourteen checks in a row, up and down in turn",
        "two ways of checking take turns: two people, two masses, morning and evening",
        partial(_alternation, 14),
    ),
)
RULES = {rule.name: rule for rule in _ALL}
SINGLE = (_ALL[0].name,)
WESTERN_ELECTRIC = tuple(rule.name for rule in _ALL[:4])
