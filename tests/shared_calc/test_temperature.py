"""Temperature compensation in integers: within its stated bound of the exact one, and within small integers."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.temperature import (
    PARTS_OF_A_COUNT,
    SPAN_UNITS,
    ZERO_UNITS,
    Compensation,
    CompensationError,
    correct,
    format_temperature,
)
from tests.shared_calc.small_int import SmallInt
from tests.shared_calc.strategies import compensations

BOUND = Fraction(1, 2) + Fraction(1, PARTS_OF_A_COUNT)
ADC = (-(1 << 23), (1 << 23) - 1)
ROUNDED = Fraction(1, 2)  # what each coefficient has lost when it became whole
# A cell of 5 kg, 2 mV/V on an ADC of +-3.9 mV/V, from -10 to 40 C about 20 C; zero 7e-6 of capacity in 1 C, span 5e-6:
# the invented cell of firmware/virtual_scale/load_cell.py.
ZERO_C, SPAN_C, CAPACITY_COUNTS = Fraction(7, 10**6), Fraction(5, 10**6), 1 << 22
USUAL = Compensation(
    320, -10, 40, 42_950, round(ZERO_C * CAPACITY_COUNTS * 64 * ZERO_UNITS), 0, round(SPAN_C * 64 * SPAN_UNITS), 0
)


def exact(coefficients, zero_counts, t: Fraction, counts: int) -> Fraction:
    """The counts at the reference by the formula of the module's docstring; coefficients: z1, z2, s1, s2."""
    z1, z2, s1, s2 = coefficients
    net = counts - zero_counts - (z1 * t + z2 * t * t)
    return zero_counts + net - net * (s1 * t + s2 * t * t)


@given(compensations(), st.data())
def test_any_compensation_is_within_its_bound_of_the_exact_one_and_within_small_integers(compensation, data) -> None:
    reference, low_c, high_c, zero_counts, *units = compensation.fields
    lost = data.draw(st.lists(st.fractions(-ROUNDED, ROUNDED, max_denominator=8), min_size=4, max_size=4))
    temperature = data.draw(st.integers(16 * low_c, 16 * high_c))
    counts = data.draw(st.integers(*ADC) | st.sampled_from(ADC))
    true = [Fraction(u) + e for u, e in zip(units, lost, strict=True)]
    true = [true[0] / ZERO_UNITS, true[1] / ZERO_UNITS, true[2] / SPAN_UNITS, true[3] / SPAN_UNITS]

    compensation = Compensation(*map(SmallInt, compensation.fields))
    assert compensation.follow(SmallInt(temperature))
    corrected = int(compensation.correct(SmallInt(counts)))
    assert abs(corrected - exact(true, zero_counts, Fraction(temperature - reference, 1024), counts)) <= BOUND


def test_the_usual_compensation_is_within_its_bound_at_every_temperature() -> None:
    """Every 1/16 C of the range, counts over all of the ADC's: the worst is 0.504 counts, nearly all of it rounding."""
    true = (ZERO_C * CAPACITY_COUNTS * 64, 0, SPAN_C * 64, 0)
    worst = Fraction(0)
    for temperature in range(-160, 641):
        USUAL.follow(temperature)
        t = Fraction(temperature - 320, 1024)
        for counts in range(ADC[0], ADC[1], (1 << 24) // 20):
            worst = max(worst, abs(USUAL.correct(counts) - exact(true, 42_950, t, counts)))
    assert ROUNDED * Fraction(9, 10) < worst < ROUNDED + Fraction(1, 32) < BOUND


def test_at_the_reference_nothing_changes() -> None:
    USUAL.follow(320)
    assert [USUAL.correct(counts) for counts in (*ADC, 0, 42_950)] == [*ADC, 0, 42_950]


def test_a_warmer_cell_reads_as_at_the_reference() -> None:
    """10 C warmer: zero 7e-5 of capacity up, a load of capacity 5e-5 of itself more. A constructed example."""
    USUAL.follow(480)
    zero = 42_950 + 70 * CAPACITY_COUNTS // 10**6
    full = zero + CAPACITY_COUNTS + 50 * CAPACITY_COUNTS // 10**6
    assert abs(USUAL.correct(zero) - 42_950) <= 1
    assert abs(USUAL.correct(full) - 42_950 - CAPACITY_COUNTS) <= 1


def test_a_temperature_that_is_lost_or_out_of_range_is_held_and_said_to_be() -> None:
    USUAL.follow(480)
    at_30_c = USUAL.correct(3_000_000)
    assert not USUAL.follow(None)
    assert USUAL.correct(3_000_000) == at_30_c
    assert USUAL.follow(640)
    at_40_c = USUAL.correct(3_000_000)
    assert not USUAL.follow(641)
    assert USUAL.correct(3_000_000) == at_40_c
    assert not USUAL.follow(-161)
    assert USUAL.follow(-160)


def test_before_the_first_temperature_the_reference_is_taken() -> None:
    compensation = Compensation(*USUAL.fields)
    assert not compensation.follow(None)
    assert compensation.correct(1_234_567) == 1_234_567


@given(st.lists(st.integers(*ADC), min_size=1), st.integers(-160, 640))
def test_arrays_give_the_same_counts(counts, temperature) -> None:
    USUAL.follow(temperature)
    several = correct(np.array(counts), 42_950, USUAL.zero, USUAL.span)
    assert several.tolist() == [USUAL.correct(one) for one in counts]
    zeros, spans = np.full(len(counts), USUAL.zero), np.full(len(counts), USUAL.span)
    assert correct(np.array(counts), 42_950, zeros, spans).tolist() == several.tolist()


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({1: 21}, "around the reference"),
        ({2: 19}, "around the reference"),
        ({1: -45}, "at most 64 C"),
        ({2: 85}, "at most 64 C"),
        ({3: (1 << 22) + 1}, "too near an end"),
        ({4: 1 << 28, 5: -(1 << 28)}, "by too much"),
        ({6: 1 << 27, 7: 1 << 27}, "by too much"),
    ],
)
def test_what_cannot_be_compensated_is_refused(change, reason) -> None:
    fields = [change.get(k, value) for k, value in enumerate(USUAL.fields)]
    with pytest.raises(CompensationError, match=reason):
        Compensation(*fields)


@pytest.mark.parametrize(
    ("sixteenths", "text"),
    # the temperatures of the DS18B20 data sheet's table "Temperature/Data Relationship"
    [
        *((2000, "125.0000"), (401, "25.0625"), (162, "10.1250"), (8, "0.5000"), (0, "0.0000")),
        *((-8, "-0.5000"), (-162, "-10.1250"), (-401, "-25.0625"), (-880, "-55.0000"), (None, "")),
    ],
)
def test_a_temperature_is_written_with_every_digit(sixteenths, text) -> None:
    assert format_temperature(sixteenths) == text
