"""The line through two points: exact at both, and refused where it would promise too much."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.coefficient_record import decode
from shared_calc.curve import CurveError
from shared_calc.measuring_chain import MeasuringChain
from shared_calc.reading import FAULTS, NO_DATA
from shared_calc.two_point import NANOGRAMS, TwoPointError, division_of, parse_grams, two_point_record

G = NANOGRAMS


positions = st.integers(-1_000_000, 1_000_000)


@given(positions, st.integers(1_000_000, 1_400_000), st.sampled_from([1, -1]), st.integers(600, 3000))
def test_both_points_are_shown_exactly_and_all_up_to_max(empty, span, side, load_g) -> None:
    data = two_point_record(empty, empty + side * span, load_g * G, 3000 * G, 1, 0)
    chain = MeasuringChain()
    chain.use(decode(data))
    for counts, divisions in ((empty, 0), (empty + side * span, load_g)):
        chain.miss(NO_DATA)
        chain.take(counts)
        assert chain.divisions == divisions and not chain.flags & FAULTS


def refuse(load_g: int, max_g: int, mantissa: int = 1, power: int = 0, loaded: int = 1_000_000) -> None:
    two_point_record(0, loaded, load_g * G, max_g * G, mantissa, power)


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        ((599, 3000), "a fifth of Max"),
        ((3001, 3000), "a fifth of Max"),
        ((3000, 3001, 2), "a fifth|whole number"),
        ((2000, 3001, 2), "whole number"),
        ((3000, 3000, 1, 0, 0), "no difference"),
        ((600, 3000, 1, 0, 1_700_000), "end of its range"),
    ],
)
def test_what_makes_no_scale_is_refused_in_words(arguments, reason) -> None:
    with pytest.raises(TwoPointError, match=reason):
        refuse(*arguments)


def test_a_division_that_the_counts_do_not_carry_is_refused() -> None:
    with pytest.raises(CurveError):
        refuse(1000, 1000, 1, -9)


@pytest.mark.parametrize(
    ("text", "nanograms"), [("1", G), ("0.1", G // 10), ("500.25", 500_250_000_000), ("0.000000001", 1), (".5", G // 2)]
)
def test_decimal_grams_are_read_exactly(text, nanograms) -> None:
    assert parse_grams(text) == nanograms


@pytest.mark.parametrize("text", ["", ".", "-1", "0", "0.0", "1e3", "1.0000000001", "1,5", "1.2.3", "9999999999"])
def test_other_text_is_no_load(text) -> None:
    with pytest.raises(ValueError):
        parse_grams(text)


@pytest.mark.parametrize(("nanograms", "division"), [(G, (1, 0)), (G // 5, (2, -1)), (50 * G, (5, 1)), (5, (5, -9))])
def test_a_division_is_1_2_or_5_times_a_power_of_ten(nanograms, division) -> None:
    assert division_of(nanograms) == division
    with pytest.raises(ValueError):
        division_of(3 * nanograms if division[0] == 1 else 7 * nanograms)
