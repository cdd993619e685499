"""From observed points to the curve: what was loaded is what is shown."""

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shared_calc.calibration import coverage, curve_through
from shared_calc.curve import CurveError
from shared_calc.fit import FitError
from tests.shared_calc.rationals import least_squares, value_of

LOADS_MG = [20_000 * step for step in range(11)]
DIVISION_MG = 100


def fit(counts, readings=1, degree=1):
    """Return the curve through counts at LOADS_MG, each counted `readings` times."""
    sums = [value * readings for value in counts]
    low, high = coverage(min(counts), max(counts))
    return curve_through(sums, readings, LOADS_MG, [1] * 11, degree, DIVISION_MG, low, high)


@st.composite
def bowed_counts(draw: st.DrawFn) -> list[int]:
    """Counts at LOADS_MG of a cell bowed by up to 1 % and up to 3 counts off anywhere."""
    zero, span = draw(st.integers(200_000, 1_000_000)), draw(st.integers(2_000_000, 4_500_000))
    bow = draw(st.integers(-40_000, 40_000))
    noise = draw(st.lists(st.integers(-3, 3), min_size=11, max_size=11))
    return [zero + span * k // 10 + bow * k * (10 - k) // 25 + noise[k] for k in range(11)]


@given(bowed_counts(), st.integers(1, 3))
def test_the_curve_is_the_least_squares_polynomial_within_what_it_promises(counts, degree) -> None:
    curve = fit(counts, degree=degree)
    exact = least_squares([[c**k for k in range(degree + 1)] for c in counts], LOADS_MG, [1] * 11)
    for c in range(counts[0], counts[-1], (counts[-1] - counts[0]) // 50):
        exact_divisions = value_of(exact, c) / DIVISION_MG
        error_units = abs(curve.evaluate(c) - exact_divisions * (1 << curve.binary_exponent))
        assert error_units <= Fraction(2 * degree + 1, 2)


@given(bowed_counts(), st.integers(1, 64), st.integers(1, 3))
def test_a_sum_of_readings_counts_as_their_mean(counts, readings, degree) -> None:
    mean, total = fit(counts, degree=degree), fit(counts, readings, degree)
    assert vars(total) == vars(mean)


@given(bowed_counts(), st.integers(1, 3))
def test_a_falling_signal_gives_the_same_loads(counts, degree) -> None:
    rising = fit(counts, degree=degree)
    falling = fit([-c for c in counts], degree=degree)
    assert rising.rises and not falling.rises
    rising_unit, falling_unit = Fraction(1, 1 << rising.binary_exponent), Fraction(1, 1 << falling.binary_exponent)
    for c in counts:
        difference = abs(rising.evaluate(c) * rising_unit - falling.evaluate(-c) * falling_unit)
        assert difference <= Fraction(2 * degree + 1, 2) * (rising_unit + falling_unit)


@given(st.integers(-0x800000, 0x7FFFFF), st.integers(-0x800000, 0x7FFFFF))
def test_a_curve_covers_an_eighth_more_on_either_side_within_the_adc(a, b) -> None:
    low, high = sorted((a, b))
    wider_low, wider_high = coverage(low, high)
    assert wider_low == max(low - (high - low) // 8, -(2**23))
    assert wider_high == min(high + (high - low) // 8, 2**23 - 1)


@given(bowed_counts(), st.integers(1, 3))
def test_points_at_one_load_only_are_refused(counts, degree) -> None:
    with pytest.raises(FitError):
        fit([counts[0]] * 11, degree=degree)


@given(st.lists(st.integers(100_000, 6_000_000), min_size=11, max_size=11))
def test_any_counts_give_a_curve_that_holds_or_are_refused(counts) -> None:
    assume(len(set(counts)) > 3)
    try:
        curve = fit(counts, degree=3)
    except CurveError:
        return
    assert curve.guaranteed_parts() >= 16
