"""Is one of the reference masses not what it says? Then the errors of all loads it is part of stand out alike."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from scalewright.procedures.range_check import Step
from scalewright.procedures.requests import Load
from shared_calc.fit import FitError, fit_linear

_LEAST_POINTS = 9  # five coefficients, and some scatter to judge by
_TIMES_BETTER = 4  # a mass must explain three quarters of what a smooth curve leaves; 15/16 if it was on only once
_AS_GOOD = Fraction(6, 5)
_PARTS_PER_G = 10**6


@dataclass(frozen=True)
class OddMass:
    """A mass, or masses that were always put on together."""

    names: tuple[str, ...]
    error_g: Fraction
    """how much more the scale shows wherever it is on, against a smooth curve"""


@dataclass(frozen=True)
class _Candidate:
    name: str
    is_on: tuple[bool, ...]


def odd_mass(loads: Sequence[Load], steps: Sequence[Step]) -> OddMass | None:
    """Return the mass that stands out of the errors of a scale, None where none does.

    The errors are fitted by a curve of degree 2 and a loop of hysteresis, once without and once with an offset for
    each mass in turn (least squares; exact). A mass is odd where its offset explains most of what the curve leaves and
    is more than a third of the limit, which is what a test mass may be wrong by (OIML R 76-1:2006, 3.7.1).
    """
    if len(steps) < _LEAST_POINTS:
        return None
    base = _smooth(steps)
    without = _fit(base, steps)
    found = [(candidate, _fit(_with(base, candidate), steps)) for candidate in _candidates(loads)]
    fits = [(candidate, *fit) for candidate, fit in found if fit is not None]
    if without is None or not fits:
        return None
    best, left, offset_g = min(fits, key=lambda fit: fit[1])
    is_once = sum(best.is_on) == 1
    limit_g = next(step.limit_g for step, is_on in zip(steps, best.is_on, strict=True) if is_on)
    if _TIMES_BETTER ** (2 if is_once else 1) * left > without[0] or 3 * abs(offset_g) <= limit_g:
        return None
    return OddMass(tuple(other.name for other, its, _ in fits if its <= _AS_GOOD * left), offset_g)


def _candidates(loads: Sequence[Load]) -> list[_Candidate]:
    """Every mass; where pieces are not known, a load stands for its masses."""
    named = [load.pieces or ((f"the masses of {load.load_g} g",) if load.load_g else ()) for load in loads]
    names = dict.fromkeys(name for pieces in named for name in pieces)
    return [_Candidate(name, tuple(name in pieces for pieces in named)) for name in names]


def _smooth(steps: Sequence[Step]) -> list[list[int]]:
    """Return 1, load, load squared and the loop for each step, as integers; the load as thousandths of the largest."""
    full_g = max(step.load_g for step in steps)
    rows = []
    for step in steps:
        share = round(1000 * step.load_g / full_g)
        rows.append([1, share, share**2, share * (1000 - share) if step.direction == "down" else 0])
    return rows


def _with(base: list[list[int]], candidate: _Candidate) -> list[list[int]]:
    return [[*row, int(is_on)] for row, is_on in zip(base, candidate.is_on, strict=True)]


def _fit(rows: list[list[int]], steps: Sequence[Step]) -> tuple[Fraction, Fraction] | None:
    """Return the sum of squares that the fit leaves, and its last coefficient; None where it is not determined."""
    errors = [round(step.error_g * _PARTS_PER_G) for step in steps]
    try:
        numerators, denominator = fit_linear(rows, errors, [1] * len(rows))
    except FitError:
        return None
    coefficients = [Fraction(numerator, denominator) for numerator in numerators]
    residuals = [
        error - sum(c * x for c, x in zip(coefficients, row, strict=True))
        for error, row in zip(errors, rows, strict=True)
    ]
    return Fraction(sum(r * r for r in residuals)), coefficients[-1] / _PARTS_PER_G
