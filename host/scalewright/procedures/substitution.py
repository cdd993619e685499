"""Test loads beyond the heaviest reference masses: ballast takes their place on the pan, and they go on top of it.

The mathematics and its sources are in scalewright.analysis.substitution.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from scalewright.errors import InputError, ProcedureError
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.repeatability import Series, weigh_repeatedly
from scalewright.procedures.requests import Load, PlaceLoad, StillReading, TakeStillReading
from scalewright.procedures.run import Procedure
from scalewright.procedures.scale_under_test import ScaleUnderTest

_NEAR = Fraction(1, 100)  # of the reference masses: ballast must be so near (as analysis.substitution asks)
_LEAST_SHARE = Fraction(20, 100)
_Exchange = tuple[Fraction, Fraction, float]  # the fields of analysis.substitution.Substitution
_NO_MASSES_G = Decimal(0)
_SOURCE = "OIML R 76-1:2006, 3.7.3"


@dataclass(frozen=True)
class BuiltUpError:
    """The error at one test load."""

    load_g: Fraction
    """the reference masses and the ballast below them"""
    u_load_g: float | None
    """standard uncertainty (k = 1); None where that of the reference masses is not known"""
    error_g: Fraction
    """of the indication before rounding"""
    limit_g: Fraction


@dataclass(frozen=True)
class SubstitutionResult:
    """The errors of all test loads, and the series that says how well ballast can stand for masses."""

    repeatability: Series
    steps: tuple[BuiltUpError, ...]


@dataclass(frozen=True)
class SubstitutionTest:
    """Errors up to `times` the reference masses, by ballast in their place.

    The fewer reference masses there are, the better they must repeat (OIML R 76-1:2006, 3.7.3, from memory).
    """

    title: ClassVar[str] = "errors with substitution loads"
    reference: Load
    """all the reference masses together"""
    times: int
    """how often they go on: the heaviest test load is so many times theirs, about"""
    weighings: int = 3
    """for the repeatability"""

    def steps(self, scale: ScaleUnderTest) -> Procedure[SubstitutionResult]:
        """Find the repeatability, then build up."""
        share = Fraction(self.reference.load_g) / scale.max_g
        missing = max(Fraction(0), _LEAST_SHARE - share)
        yield Outcome("masses missing to 20 % of Max", missing, Fraction(0), _SOURCE, unit="of Max")
        series = yield from weigh_repeatedly(scale, self.reference, self.weighings)
        most_g = spread_limit_g(share, scale.e_g)
        if most_g is not None:
            yield Outcome("spread of the reference masses", series.spread_g, most_g, _SOURCE)
        yield from scale.set_zero()
        return SubstitutionResult(series, (yield from self._build_up(scale, series.s_g)))

    def _build_up(self, scale: ScaleUnderTest, s_g: float) -> Procedure[tuple[BuiltUpError, ...]]:
        exchanges: list[_Exchange] = []
        steps: list[BuiltUpError] = []
        ballast_g = Decimal(0)
        for number in range(1, self.times + 1):
            load_g, u_load_g = _built(self.reference, exchanges)
            placed = replace(PlaceLoad.of(self.reference), ballast_g=ballast_g)
            shown_g = yield from _weigh(scale, placed, load_g, load_g / 10)
            steps.append(BuiltUpError(load_g, u_load_g, shown_g - load_g, scale.limit_g(load_g)))
            yield _outcome(steps[-1], number)
            if number < self.times:
                ballast_g = _in_divisions(scale, shown_g)
                near_g = _NEAR * Fraction(self.reference.load_g)
                with_ballast_g = yield from _weigh(scale, PlaceLoad(_NO_MASSES_G, ballast_g=ballast_g), shown_g, near_g)
                exchanges.append((shown_g, with_ballast_g, s_g))
        return tuple(steps)


def spread_limit_g(share: Fraction, e_g: Fraction) -> Fraction | None:
    """Return how far three weighings of the reference masses may spread, by their share of Max.

    None from half of Max on, where they may spread as any load may. Source: OIML R 76-1:2006, 3.7.3, from memory.
    """
    if share >= Fraction(50, 100):
        return None
    return (Fraction(3, 10) if share >= Fraction(35, 100) else Fraction(2, 10)) * e_g


def _built(reference: Load, exchanges: Sequence[_Exchange]) -> tuple[Fraction, float | None]:
    """Return the test load and its standard uncertainty after these exchanges of masses for ballast."""
    from scalewright.analysis.substitution import Substitution, build_up  # numpy: only once it is needed

    steps = [Substitution(*exchange) for exchange in exchanges]
    try:
        built = build_up(Fraction(reference.load_g), float(reference.u_load_g or 0), steps)
    except InputError as error:
        raise ProcedureError(error.message, error.remedy) from error
    return built.loads_g[-1], None if reference.u_load_g is None else float(built.u_loads_g[-1])


def _weigh(scale: ScaleUnderTest, placed: PlaceLoad, about_g: Fraction, near_g: Fraction) -> Procedure[Fraction]:
    """Return the indication before rounding; the reading is refused where it is not so near what it should be."""
    yield placed
    about = _in_divisions(scale, about_g)
    expected = scale.expected(about, about)
    if expected is not None:
        within_counts = max(1, round(near_g * abs(Fraction(expected.counts_per_g))))
        expected = replace(expected, within_counts=within_counts)
    still = yield TakeStillReading(scale.held.readings, expected)
    assert isinstance(still, StillReading)
    return scale.fine_g(still) - scale.zero_g


def _in_divisions(scale: ScaleUnderTest, amount_g: Fraction) -> Decimal:
    return Decimal(round(amount_g / scale.division_g) * scale.record.mantissa).scaleb(scale.record.power_of_ten)


def _outcome(step: BuiltUpError, number: int) -> Outcome:
    load_g = Decimal(f"{float(step.load_g):.7g}")
    what = f"error at {load_g} g, {number} x the masses"
    return Outcome(what, step.error_g, step.limit_g, "OIML R 76-1:2006, A.4.4.5", load_g=load_g)
