"""Errors with their uncertainty: repeatability from pairs against numpy, limits at nominal loads, what air may do."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.analysis.decision import RULES
from scalewright.analysis.error_of_indication import Weight
from scalewright.certificates.measured import Loads, Measured, measured
from scalewright.certificates.results import FoundState, Judge, from_pairs
from scalewright.composition import compose
from scalewright.equipment import MassSet
from scalewright.errors import InputError
from scalewright.procedures.changeover import Changeover, ChangeoverErrors, ChangeoverTest, CorrectedError
from scalewright.procedures.range_check import RangeCheck, Step
from scalewright.procedures.repeatability import Series
from scalewright.procedures.requests import Load
from scalewright.procedures.substitution import BuiltUpError, SubstitutionResult, SubstitutionTest
from shared_calc.calibration import coverage, curve_through
from shared_calc.coefficient_record import CoefficientRecord
from tests.host.certificates.perfect import HELD, LOADS, MASSES

RECORD = CoefficientRecord(
    curve_through([0, 1_500_000], 1, [0, 1500], [1, 1], 1, 1, *coverage(0, 1_500_000)), 1, 0, 1500
)
"""1000 counts a gram, d = 1 g"""
KNOWN = Loads((MASSES,), HELD)


def error_at(reference_g: int, error_g: Fraction) -> Measured:
    return Measured(Decimal(reference_g), Fraction(reference_g), error_g, "", Fraction(1), None)


def steps(errors_g: list[str]) -> tuple[Step, ...]:
    pairs = zip(LOADS, errors_g, strict=True)
    return tuple(Step(load.load_g, "up", Decimal(0), Fraction(error), Fraction(1)) for load, error in pairs)


def state(errors_g: list[str], *, was_just_adjusted: bool = False) -> FoundState:
    return FoundState("as left", "as left", (RangeCheck(LOADS),), (steps(errors_g),), (), RECORD, was_just_adjusted)


@settings(max_examples=40)
@given(st.lists(st.tuples(st.fractions(-5, 5), st.fractions(-5, 5)), min_size=1, max_size=8))
def test_repeatability_from_pairs_is_the_pooled_standard_deviation(pairs: list[tuple[Fraction, Fraction]]) -> None:
    # JCGM 100:2008, H.3.6, note: pooled variance; numpy gives that of each pair.
    errors = [error_at(load, error) for load, pair in enumerate(pairs) for error in pair]
    repeatability = from_pairs(errors)
    expected = sqrt(np.mean([np.var(np.array(pair, dtype=float), ddof=1) for pair in pairs]))
    assert repeatability.s_g == pytest.approx(expected, rel=1e-12, abs=1e-15)
    assert repeatability.degrees_of_freedom == len(pairs)


def test_without_a_load_read_twice_there_is_no_uncertainty() -> None:
    with pytest.raises(InputError, match=r"no load was read twice.*plan a repeatability test"):
        from_pairs([error_at(1, Fraction(0)), error_at(2, Fraction(0))])


def test_a_limit_is_that_of_what_is_marked_on_the_load() -> None:
    # The pieces of 500 g really weigh 500.004 g; OIML R 76-1:2006, table 6 goes by 500 e all the same: 0.5 e.
    point = KNOWN.measured(LOADS[1], Fraction(0), "up")
    assert (point.nominal_g, point.reference_g, point.limit_g) == (500, Fraction("500.004"), Fraction(1, 2))


def test_the_load_counts_as_one_weight_with_the_uncertainty_of_its_pieces() -> None:
    # Pieces of one certificate: their uncertainties add up (EURAMET cg-18 v4.0, 7.1.2, from memory).
    weight = KNOWN.weight(compose(MASSES, Decimal(1500)))
    assert weight == Weight(1499.994, 0.008 + 0.016, expanded_u_g=0.030)  # class F2: OIML R 111-1:2004, table 1


def test_a_load_that_nobody_knows_the_uncertainty_of_is_refused() -> None:
    with pytest.raises(InputError, match="nothing says how well the load of 700 g is known"):
        KNOWN.weight(Load(Decimal(700)))
    assert KNOWN.weight(Load(Decimal(0))) is None


@pytest.mark.parametrize(
    ("masses", "was_just_adjusted", "u_air_g"),
    [
        # EURAMET cg-18 v4.0, 7.1.2, from memory: mpe / (4 sqrt 3), else (0.1 rho_0 m / rho_c + mpe / 4) / sqrt 3.
        (MASSES, True, 0.024 / 4 / sqrt(3)),
        (MASSES, False, (0.1 * 1.2 * 1499.994 / 8000 + 0.024 / 4) / sqrt(3)),
        (replace(MASSES, pieces=tuple(replace(piece, weight_class="") for piece in MASSES.pieces)), True,
         0.1 * 1.2 * 1499.994 / 8000 / sqrt(3)),
    ],
)  # fmt: skip
def test_what_air_may_do_depends_on_the_adjustment_and_on_knowing_the_class(
    masses: MassSet, was_just_adjusted: bool, u_air_g: float
) -> None:
    test = Judge(RULES["simple"], (masses,), HELD).test(state(["0"] * 5, was_just_adjusted=was_just_adjusted))
    shares = {share.name: share.u_g for share in test.points[2].shares}
    assert shares["air buoyancy"] == pytest.approx(u_air_g, rel=1e-9)
    assert shares["reference weights"] == pytest.approx(0.015)


def test_what_was_found_by_changeover_points_is_known_to_a_tenth_of_d() -> None:
    at = Changeover(Decimal(500), Decimal(500), Decimal("0.3"), Fraction(1))
    errors = ChangeoverErrors(at, (CorrectedError(at, "up", Fraction(2, 10), Fraction(1, 2)),) * 2)
    plan = ChangeoverTest(LOADS[1:2] * 2)
    error = next(measured(plan, errors, KNOWN))
    assert (error.error_g, error.division_g, error.limit_g) == (Fraction(1, 5), 0.1, Fraction(1, 2))
    found = FoundState("as left", "as left", (plan,), (errors,), (), RECORD, False)
    shares = {share.name: share.u_g for share in Judge(RULES["simple"], (MASSES,), HELD).test(found).points[0].shares}
    for name in ("division at zero", "division under load"):  # EURAMET cg-18 v4.0, 7.1.1, from memory: d_T / (2 sqrt 3)
        assert shares[name] == pytest.approx(0.1 / sqrt(12))


def test_a_load_built_up_with_ballast_keeps_its_own_uncertainty() -> None:
    reference = compose(MASSES, Decimal(500))
    built = BuiltUpError(Fraction("1000.1"), 0.013, Fraction(1, 10), Fraction(1))
    series = Series(reference.load_g, (Fraction(500), Fraction(501)), Fraction(1))
    plan, result = SubstitutionTest(reference, 2), SubstitutionResult(series, (built, built))
    first, second = measured(plan, result, KNOWN)
    assert second.weight == Weight(1000.1, 2 * 0.008, expanded_u_g=0.026)
    assert (first.nominal_g, second.nominal_g) == (500, 1000)
    test = Judge(RULES["simple"], (MASSES,), HELD).test(
        FoundState("as left", "as left", (plan,), (result,), (), RECORD, False)
    )
    assert test.repeatability[0].s_g == pytest.approx(sqrt(0.5))
    assert [point.direction for point in test.points] == ["", ""]


def test_a_job_without_errors_over_the_range_gives_no_certificate() -> None:
    with pytest.raises(InputError, match="no errors over the range, as left"):
        Judge(RULES["simple"], (MASSES,), HELD).test(FoundState("as left", "as left", (), (), (), RECORD, False))


def test_an_error_on_its_limit_is_accepted_simply_and_rejected_with_a_guard_band() -> None:
    # JCGM 106:2012, 8.2 and 8.3.2; ILAC-G8:09/2019, 4.2.1 and 4.2.2.
    found = state(["0", "0.5", "0", "0.5", "0"])
    outcomes = {rule: Judge(RULES[rule], (MASSES,), HELD).test(found).points[1].outcome for rule in RULES}
    assert outcomes == {"simple": "accept", "guarded": "reject", "conditional": "conditional accept"}
