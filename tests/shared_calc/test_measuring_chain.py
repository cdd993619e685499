"""Raw counts to indication, the faults that forbid one, and whether the load is at rest."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.chain_state import CONDITIONED, SIZE, new_state
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.conditioning import condition
from shared_calc.curve import Curve
from shared_calc.measuring_chain import COUNTS_MAX, COUNTS_MIN, MeasuringChain, scale_of, take
from shared_calc.reading import (
    AT_ZERO,
    BAD_FRAME,
    COMPENSATION_HELD,
    FAULTS,
    MOVING,
    NO_DATA,
    OVER_RANGE,
    SATURATED,
    UNCALIBRATED,
    UNDER_RANGE,
)
from shared_calc.rounding import format_divisions, round_to_division
from shared_calc.stability import ENOUGH
from shared_calc.temperature import Compensation
from tests.shared_calc.signals import good_counts, histories, noise
from tests.shared_calc.small_int import SmallInt
from tests.shared_calc.strategies import curves_and_counts, records

# An invented scale of Max 200 g, d = 0.1 g: 2000 counts a division, load 0 at 1 000 000 counts, covering a half more.
CENTRE, HALF, SHIFT = 3_000_000, 1 << 22, 1
EXPONENT = 18
SLOPE = (HALF << EXPONENT) // 2000
RISING = CoefficientRecord(Curve(CENTRE, SHIFT, EXPONENT, (SLOPE, 1000 << EXPONENT)), 1, -1, 2000)
FALLING = CoefficientRecord(Curve(-CENTRE, SHIFT, EXPONENT, (-SLOPE, 1000 << EXPONENT)), 1, -1, 2000)


def chain_with(record, *counts: int) -> MeasuringChain:
    chain = MeasuringChain()
    chain.use(record)
    for one in counts:
        chain.take(one)
    return chain


# One count


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
        chain = chain_with(record, signed)
        assert (chain.counts, chain.flags, chain.indication()) == (signed, MOVING, indication)


@pytest.mark.parametrize(
    ("counts", "flags"),
    [
        (5_020_000, OVER_RANGE),  # Max + 10 d
        (CENTRE + HALF + 1, OVER_RANGE),
        (CENTRE - HALF - 1, UNDER_RANGE),
        (COUNTS_MAX, SATURATED),
        (COUNTS_MIN, SATURATED),
    ],
)
def test_a_count_that_cannot_be_right_is_flagged_and_shows_no_mass(counts, flags) -> None:
    chain = chain_with(RISING, *[counts] * 20)
    assert (chain.flags, chain.indication()) == (flags, "")


def test_the_side_that_is_over_range_follows_the_direction_of_the_signal() -> None:
    assert chain_with(FALLING, -CENTRE - HALF - 1).flags == OVER_RANGE
    assert chain_with(FALLING, -CENTRE + HALF + 1).flags == UNDER_RANGE


@given(st.integers(COUNTS_MIN, COUNTS_MAX))
def test_without_coefficients_no_count_is_a_mass(counts) -> None:
    chain = chain_with(None, counts)
    assert chain.flags == UNCALIBRATED | (SATURATED if counts in (COUNTS_MIN, COUNTS_MAX) else 0)
    assert chain.indication() == ""


def test_before_the_first_count_there_is_no_mass() -> None:
    chain = chain_with(RISING)
    assert (chain.flags, chain.indication()) == (NO_DATA, "")


@given(records(), st.integers(COUNTS_MIN, COUNTS_MAX))
def test_any_count_is_an_indication_of_the_curve_or_flagged_within_small_integers(record, counts) -> None:
    chain_with(record, SmallInt(counts))
    chain = chain_with(record, counts)
    fault = not record.curve.covers(counts) or counts in (COUNTS_MIN, COUNTS_MAX)
    if not fault:
        fine = record.curve.evaluate(counts)
        divisions = round_to_division(fine, record.curve.binary_exponent)
        fault = divisions > record.max_divisions + 9
    if fault:
        assert chain.flags & FAULTS and not chain.flags & MOVING and chain.indication() == ""
    else:
        assert (chain.flags & ~COMPENSATION_HELD, chain.fine, chain.divisions) == (MOVING, fine, divisions)
        assert chain.indication() == format_divisions(divisions, record.mantissa, record.power_of_ten)


@given(curves_and_counts())
def test_a_covered_count_is_evaluated_whatever_the_curve(curve_and_counts) -> None:
    curve, counts = curve_and_counts
    chain = chain_with(CoefficientRecord(curve, 1, 0, 1 << 30), counts)
    if COUNTS_MIN < counts < COUNTS_MAX:
        assert (chain.flags, chain.fine) == (MOVING, curve.evaluate(counts))


# A row of counts


@given(histories(), curves_and_counts())
def test_the_curve_gets_the_conditioned_count_and_all_stays_small(counts, curve_and_counts) -> None:
    scale = scale_of(CoefficientRecord(curve_and_counts[0], 1, 0, 1 << 30))
    state, small, filter_alone = new_state(), [SmallInt(value) for value in new_state()], new_state()
    for one in counts:
        take(state, scale, one)
        take(small, scale, SmallInt(one))
        assert state[CONDITIONED] == condition(filter_alone, one)
    assert small == state and len(state) == SIZE


def test_a_load_is_at_rest_after_enough_readings_and_moving_with_the_first_that_strays() -> None:
    chain = chain_with(RISING, *[3_000_000] * (ENOUGH - 1))
    assert (chain.flags, chain.indication()) == (MOVING, "100.0")
    chain.take(3_000_000)
    assert (chain.flags, chain.indication()) == (0, "100.0")
    chain.take(3_500_000)  # a spike, or the first reading of a step
    assert (chain.flags, chain.indication()) == (MOVING, "100.0")
    chain.take(3_000_000)  # a spike
    assert (chain.flags, chain.indication()) == (0, "100.0")


@given(st.integers(2, 1000), st.sampled_from([1, -1]))
def test_a_step_is_at_rest_at_the_new_load_only(divisions, side) -> None:
    new = 3_000_000 + side * divisions * 2000
    chain = chain_with(RISING, *[3_000_000] * 40)
    for k in range(1, 40):
        chain.take(new)
        at_new = chain.divisions == 1000 + side * divisions
        assert chain.flags & MOVING == (0 if k > ENOUGH else MOVING)
        assert at_new == (k >= 2)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(-30, 30)), max_size=12), st.integers(0, 99))
def test_what_is_shown_at_rest_is_no_more_than_a_division_off_whatever_is_put_on(changes, seed) -> None:
    """Noise of a tenth of a division; loads put on at once or bit by bit over some readings."""
    chain = chain_with(RISING)
    source = noise(seed, 200)
    level = 3_000_000
    for duration, divisions in changes:
        for k in range(60):
            load = level + divisions * 2000 * min(1, (k + 1) / (10 * duration + 1))
            chain.take(round(load) + next(source))
            shown_counts = (chain.fine * 2000 >> EXPONENT) + 1_000_000
            assert chain.flags == MOVING or abs(shown_counts - load) <= 2000
        level += divisions * 2000


@pytest.mark.parametrize("faults", [NO_DATA, BAD_FRAME, SATURATED])
def test_what_cannot_be_used_never_enters_the_mean_and_everything_begins_anew_after_it(faults) -> None:
    chain = chain_with(RISING, *[3_000_000] * 40)
    if faults == SATURATED:
        chain.take(COUNTS_MAX)
    else:
        chain.miss(faults)
    assert (chain.flags, chain.indication()) == (faults, "")
    chain.take(1_000_000)
    assert (chain.flags, chain.indication()) == (MOVING, "0.0")
    for _ in range(ENOUGH - 1):
        chain.take(1_000_000)
    assert chain.flags == AT_ZERO


# Coefficients


@given(good_counts, good_counts)
def test_new_coefficients_weigh_the_latest_count_at_once_and_it_has_to_come_to_rest_anew(first, second) -> None:
    chain = chain_with(RISING, *[first] * 20, second)
    chain.use(FALLING)
    by_the_new = chain_with(FALLING, *[first] * 20, second)
    assert (chain.fine, chain.divisions) == (by_the_new.fine, by_the_new.divisions) or chain.flags & FAULTS
    assert chain.flags & FAULTS == by_the_new.flags & FAULTS
    assert chain.flags & FAULTS or chain.flags == MOVING


def test_coefficients_can_be_taken_away() -> None:
    chain = chain_with(RISING, *[3_000_000] * 20)
    chain.use(None)
    assert (chain.flags, chain.indication()) == (UNCALIBRATED, "")
    chain.take(3_000_000)
    assert (chain.flags, chain.indication()) == (UNCALIBRATED, "")


def test_no_coefficients_make_a_mass_of_a_count_that_cannot_be_used() -> None:
    chain = chain_with(None, 3_000_000)
    chain.miss(NO_DATA)
    chain.use(RISING)
    assert (chain.flags, chain.indication()) == (NO_DATA, "")


# Temperature

# Zero 30 counts and span 1e-4 in 1 C, about 20 C, from 0 to 40 C; load 0 at 1 000 000 counts: invented. In the units of
# temperature.py: 30 * 64 * 256, 1e-4 * 64 * 2**32, and its square, for 1 / (1 + span) = 1 - span + span**2.
WARMING = CoefficientRecord(
    RISING.curve, 1, -1, 2000, Compensation(320, 0, 40, 1_000_000, 491_520, 0, 27_487_791, -175_922)
)


@pytest.mark.parametrize("warmer_c", [-20, -5, 0, 7, 20])
def test_the_indication_is_that_of_the_reference_temperature(warmer_c) -> None:
    """Against 100 g of the same cell at 20 C: 2 000 000 counts over the empty scale."""
    chain = chain_with(WARMING)
    chain.feel(320 + 16 * warmer_c)
    chain.take(1_000_000 + 30 * warmer_c + 2_000_000 + 200 * warmer_c)
    reference = chain_with(RISING, 3_000_000)
    assert chain.indication() == reference.indication() == "100.0"
    a_count = RISING.curve.evaluate(CENTRE + 1) - RISING.curve.evaluate(CENTRE)
    assert abs(chain.fine - reference.fine) <= 2 * a_count
    assert not chain.flags & COMPENSATION_HELD


def test_a_lost_thermometer_is_flagged_and_the_last_temperature_serves() -> None:
    chain = chain_with(WARMING)
    chain.take(3_002_300)
    assert chain.flags & COMPENSATION_HELD  # none was ever known: the reference serves
    chain.feel(320 + 160)
    chain.take(3_002_300)
    assert not chain.flags & COMPENSATION_HELD
    warm = chain.fine
    chain.feel(None)
    chain.take(3_002_300)
    assert (chain.flags & COMPENSATION_HELD, chain.flags & FAULTS, chain.fine) == (COMPENSATION_HELD, 0, warm)
    chain.feel(320 + 160)
    chain.take(3_002_300)
    assert not chain.flags & COMPENSATION_HELD


def test_beyond_its_temperatures_a_compensation_is_held_at_the_nearest() -> None:
    chain = chain_with(WARMING)
    chain.feel(641)
    chain.take(3_004_600)
    beyond = chain.fine
    assert chain.flags & COMPENSATION_HELD
    chain.feel(640)
    chain.take(3_004_600)
    assert (chain.flags & COMPENSATION_HELD, chain.fine) == (0, beyond)


def test_without_compensation_temperature_changes_nothing() -> None:
    chain = chain_with(RISING)
    for temperature in (None, 0, 640):
        chain.feel(temperature)
        chain.take(3_000_000)
        assert (chain.indication(), chain.flags & COMPENSATION_HELD) == ("100.0", 0)


def test_other_coefficients_are_used_at_the_temperature_that_is() -> None:
    chain = chain_with(RISING)
    chain.feel(320 + 160)
    chain.take(3_002_300)
    assert chain.indication() == "100.1"
    chain.use(WARMING)
    assert (chain.indication(), chain.flags & COMPENSATION_HELD) == ("100.0", 0)
    chain.use(RISING)
    assert chain.indication() == "100.1"
