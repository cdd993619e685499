"""Raw counts to indication, and the faults that forbid one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.curve import Curve
from shared_calc.measuring_chain import COUNTS_MAX, COUNTS_MIN, MeasuringChain
from shared_calc.reading import OVER_RANGE, SATURATED, UNCALIBRATED, UNDER_RANGE
from shared_calc.rounding import format_divisions, round_to_division
from tests.shared_calc.small_int import SmallInt
from tests.shared_calc.strategies import curves_and_counts, records

# An invented scale of Max 200 g, d = 0.1 g: 2000 counts a division, load 0 at 1 000 000 counts, covering a half more.
CENTRE, HALF, SHIFT = 3_000_000, 1 << 22, 1
EXPONENT = 18
SLOPE = (HALF << EXPONENT) // 2000
RISING = CoefficientRecord(Curve(CENTRE, SHIFT, EXPONENT, (SLOPE, 1000 << EXPONENT)), 1, -1, 2000)
FALLING = CoefficientRecord(Curve(-CENTRE, SHIFT, EXPONENT, (-SLOPE, 1000 << EXPONENT)), 1, -1, 2000)


def chain_with(record) -> MeasuringChain:
    chain = MeasuringChain()
    chain.use(record)
    return chain


@pytest.mark.parametrize(
    ("counts", "indication"),
    [
        (1_000_000, "0.0"),
        (1_000_999, "0.0"),
        (1_001_001, "0.1"),
        (5_000_000, "200.0"),
        (998_900, "-0.1"),
        (5_018_000, "200.9"),  # OIML R 76-1:2006, 4.2.3: indication ends above Max + 9 d
    ],
)
def test_counts_become_an_indication(counts, indication) -> None:
    for record, signed in ((RISING, counts), (FALLING, -counts)):
        chain = chain_with(record)
        chain.take(signed)
        assert (chain.counts, chain.flags, chain.indication()) == (signed, 0, indication)


@pytest.mark.parametrize(
    ("counts", "flags"),
    [
        (5_020_000, OVER_RANGE),  # Max + 10 d
        (CENTRE + HALF + 1, OVER_RANGE),
        (CENTRE - HALF - 1, UNDER_RANGE),
        (COUNTS_MAX, SATURATED | OVER_RANGE),
        (COUNTS_MIN, SATURATED | UNDER_RANGE),
    ],
)
def test_a_count_that_cannot_be_right_is_flagged_and_shows_no_mass(counts, flags) -> None:
    chain = chain_with(RISING)
    chain.take(counts)
    assert (chain.flags, chain.indication()) == (flags, "")


def test_the_side_that_is_over_range_follows_the_direction_of_the_signal() -> None:
    chain = chain_with(FALLING)
    chain.take(-CENTRE - HALF - 1)
    assert chain.flags == OVER_RANGE
    chain.take(-CENTRE + HALF + 1)
    assert chain.flags == UNDER_RANGE


@given(st.integers(COUNTS_MIN, COUNTS_MAX))
def test_without_coefficients_no_count_is_a_mass(counts) -> None:
    chain = MeasuringChain()
    chain.take(counts)
    assert chain.flags & UNCALIBRATED and chain.indication() == ""
    assert bool(chain.flags & SATURATED) == (counts in (COUNTS_MIN, COUNTS_MAX))


def test_a_fault_passes_with_the_next_good_count_and_coefficients_can_be_taken_away() -> None:
    chain = chain_with(RISING)
    chain.take(COUNTS_MAX)
    chain.take(3_000_000)
    assert chain.indication() == "100.0"
    chain.use(None)
    chain.take(3_000_000)
    assert (chain.flags, chain.indication()) == (UNCALIBRATED, "")


@given(records(), st.integers(COUNTS_MIN, COUNTS_MAX))
def test_any_count_is_an_indication_of_the_curve_or_flagged_within_small_integers(record, counts) -> None:
    chain_with(record).take(SmallInt(counts))
    chain = chain_with(record)
    chain.take(counts)
    fault = not record.curve.covers(counts) or counts in (COUNTS_MIN, COUNTS_MAX)
    if not fault:
        fine = record.curve.evaluate(counts)
        divisions = round_to_division(fine, record.curve.binary_exponent)
        fault = divisions > record.max_divisions + 9
    if fault:
        assert chain.flags and chain.indication() == ""
    else:
        assert (chain.flags, chain.fine, chain.divisions) == (0, fine, divisions)
        assert chain.indication() == format_divisions(divisions, record.mantissa, record.power_of_ten)


@given(curves_and_counts())
def test_a_covered_count_is_evaluated_whatever_the_curve(curve_and_counts) -> None:
    curve, counts = curve_and_counts
    chain = chain_with(CoefficientRecord(curve, 1, 0, 1 << 30))
    chain.take(counts)
    if COUNTS_MIN < counts < COUNTS_MAX:
        assert (chain.flags, chain.fine) == (0, curve.evaluate(counts))
