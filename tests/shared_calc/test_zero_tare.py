"""Zero and tare within the limits of OIML R 76-1:2006, whatever is done; clauses and figures from memory."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc.chain_state import FINE, FLAGS, INITIAL, SIZE, TARE, ZERO, new_state
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.curve import LIMIT, Curve
from shared_calc.measuring_chain import MeasuringChain
from shared_calc.reading import AT_ZERO, FAULTS, MOVING, NET, NO_DATA, OVER_RANGE, UNDER_RANGE
from shared_calc.rounding import FURTHEST, difference
from shared_calc.stability import ENOUGH
from shared_calc.zero_tare import (
    DONE,
    NO_INDICATION,
    NO_LOAD,
    NOT_AT_REST,
    REASONS,
    TARE_IN_USE,
    TOO_FAR,
    TOO_FAR_INITIALLY,
    TOO_HEAVY,
    ZERO_IN_USE,
    set_initial_zero,
    set_tare,
    set_zero,
    track_zero,
)
from tests.shared_calc.small_int import SmallInt

# An invented scale of Max 200 g, d = 0.1 g: 2000 counts a division, load 0 at 1 000 000 counts, covering a half more.
EXPONENT = 18
DIVISION = 1 << EXPONENT
SLOPE = (1 << 22 << EXPONENT) // 2000
SCALE = CoefficientRecord(Curve(3_000_000, 1, EXPONENT, (SLOPE, 1000 << EXPONENT)), 1, -1, 2000)
MAX = 2000 * DIVISION

fines = st.integers(-FURTHEST, FURTHEST)
steps = st.lists(
    st.one_of(
        st.tuples(st.just("load"), st.one_of(st.integers(-600, 2100), st.floats(-1, 1))),
        st.tuples(st.just("wait"), st.integers(1, 40)),
        st.tuples(st.sampled_from(["zero", "initial", "tare", "clear tare", "clear"]), st.none()),
    ),
    max_size=30,
)
FUNCTIONS = {"zero": set_zero, "initial": set_initial_zero, "tare": set_tare}


def counts_of(divisions) -> int:
    return round(1_000_000 + 2000 * divisions)


def scale_with(divisions: float) -> MeasuringChain:
    """Return the scale with so many divisions on it, at rest."""
    chain = MeasuringChain()
    chain.use(SCALE)
    return place(chain, divisions)


def place(chain: MeasuringChain, divisions: float, readings: int = 3 * ENOUGH) -> MeasuringChain:
    for _ in range(readings):
        chain.take(counts_of(divisions))
    return chain


# Zero-setting: 4.5.1, 4.5.2, 4.5.5


def test_zero_is_set_within_a_quarter_of_a_division_and_said_to_be_so() -> None:
    chain = scale_with(2.4)
    assert (chain.divisions, chain.flags) == (2, 0)
    assert chain.set(set_zero) == DONE
    assert (chain.divisions, chain.flags) == (0, AT_ZERO)  # 4.5.2: by much less than 0.25 e, and 4.5.5
    assert chain.shown() == 0
    assert place(chain, 102.4).divisions == 100


@pytest.mark.parametrize(("offset", "flags"), [(0.24, AT_ZERO), (-0.24, AT_ZERO), (0.26, 0), (-0.26, 0)])
def test_at_zero_is_a_quarter_of_a_division_wide_to_either_side(offset, flags) -> None:
    assert scale_with(offset).flags == flags  # 4.5.5


@pytest.mark.parametrize(
    ("divisions", "refused"), [(79.9, DONE), (80.1, TOO_FAR), (-79.9, DONE), (-80.1, TOO_FAR), (2000, TOO_FAR)]
)
def test_zero_is_set_within_4_per_cent_of_max(divisions, refused) -> None:
    chain = scale_with(divisions)
    assert chain.set(set_zero) == refused  # 4.5.1: 80 of 2000 divisions
    assert chain.divisions == (0 if refused == DONE else round(divisions))


def test_the_zero_cannot_be_walked_away_in_steps() -> None:
    chain = scale_with(60)
    assert chain.set(set_zero) == DONE
    assert place(chain, 120).set(set_zero) == TOO_FAR  # 4.5.1: the overall effect counts
    assert chain.divisions == 60


@pytest.mark.parametrize(
    ("divisions", "refused"), [(399.9, DONE), (400.1, TOO_FAR_INITIALLY), (-399.9, DONE), (-400.1, TOO_FAR_INITIALLY)]
)
def test_the_initial_zero_is_set_within_20_per_cent_of_max(divisions, refused) -> None:
    assert scale_with(divisions).set(set_initial_zero) == refused  # 4.5.1


def test_zero_is_set_4_per_cent_around_the_initial_one_which_is_set_once() -> None:
    chain = scale_with(300)
    assert chain.set(set_initial_zero) == DONE
    assert place(chain, 370).set(set_zero) == DONE
    assert place(chain, 390).set(set_zero) == TOO_FAR
    assert chain.set(set_initial_zero) == ZERO_IN_USE


def test_max_is_counted_from_the_zero_that_is_set() -> None:
    chain = scale_with(50)
    chain.set(set_zero)
    assert place(chain, 2059).divisions == 2009  # 4.5.1: zero-setting does not change Max; 4.2.3: Max + 9 d
    assert place(chain, 2060).flags == OVER_RANGE


# Tare: 4.6


def test_tare_is_taken_off_and_clearing_gives_it_back() -> None:
    chain = scale_with(500.3)
    assert chain.set(set_tare) == DONE
    assert (chain.divisions, chain.flags, chain.indication()) == (0, NET, "0.0")  # 4.6.5: NET is shown
    assert (place(chain, 700.3).divisions, chain.flags) == (200, NET)
    assert (place(chain, 0).divisions, chain.flags) == (-500, NET | AT_ZERO)
    chain.clear_tare()
    assert (chain.divisions, chain.flags) == (0, AT_ZERO)


def test_tare_takes_its_load_from_max() -> None:
    chain = scale_with(500)
    chain.set(set_tare)  # subtractive
    assert place(chain, 2009).divisions == 1509
    assert place(chain, 2010).flags == OVER_RANGE


@pytest.mark.parametrize(
    ("divisions", "refused"), [(-1, NO_LOAD), (0, NO_LOAD), (0.1, DONE), (2000, DONE), (2000.1, TOO_HEAVY)]
)
def test_tare_is_above_zero_and_within_max(divisions, refused) -> None:
    assert scale_with(divisions).set(set_tare) == refused


def test_a_second_tare_takes_the_place_of_the_first_and_zero_waits_until_it_is_cleared() -> None:
    chain = scale_with(10)
    chain.set(set_tare)
    assert place(chain, 30).set(set_tare) == DONE
    assert chain.divisions == 0
    assert place(chain, 20).set(set_zero) == TARE_IN_USE
    chain.clear_tare()
    assert chain.set(set_zero) == DONE


# Both


@pytest.mark.parametrize("function", FUNCTIONS.values())
def test_nothing_is_set_while_the_load_moves_or_there_is_no_indication(function) -> None:
    chain = place(scale_with(3), 5, readings=2)
    assert (chain.flags, chain.set(function)) == (MOVING, NOT_AT_REST)
    chain.miss(NO_DATA)
    assert chain.set(function) == NO_INDICATION
    assert MeasuringChain().set(function) == NO_INDICATION
    assert place(chain, 2500).set(function) == NO_INDICATION


def test_new_coefficients_clear_both_and_so_does_clearing() -> None:
    for clear in (lambda chain: chain.use(SCALE), MeasuringChain.clear_zero):
        chain = scale_with(50)
        chain.set(set_zero)
        place(chain, 150).set(set_tare)
        clear(chain)
        assert (chain.zero(), chain.tare(), chain.divisions) == (0, 0, 150)


def test_every_reason_is_given_in_words() -> None:
    assert len(set(REASONS)) == TOO_HEAVY + 1
    assert REASONS[DONE] == ""


# Zero-tracking: 4.5.7


def track(chain: MeasuringChain, divisions: float, seconds: float, period_ms: int = 100) -> MeasuringChain:
    for _ in range(round(seconds * 1000 / period_ms)):
        chain.take(counts_of(divisions))
        chain.track_zero(period_ms)
    return chain


def test_a_small_drift_at_zero_is_followed_to_the_last_part() -> None:
    chain = track(scale_with(0.4), 0.4, seconds=5)
    assert abs(chain.zero() - 0.4 * DIVISION) < DIVISION / 1000
    assert chain.flags == AT_ZERO


@pytest.mark.parametrize("divisions", [0.51, -0.51, 3])
def test_what_is_not_zero_is_never_taken_for_it(divisions) -> None:
    assert track(scale_with(divisions), divisions, seconds=20).zero() == 0


def test_a_load_that_grows_at_more_than_half_a_division_a_second_is_not_tracked_away() -> None:
    chain = scale_with(0)
    for k in range(100):
        track(chain, 0.06 * k, seconds=0.1)
    assert place(chain, 6).divisions >= 4


def test_the_zero_is_tracked_under_a_tare_once_the_scale_is_empty() -> None:
    chain = scale_with(100)
    chain.set(set_tare)
    assert track(chain, 100, seconds=20).zero() == 0  # net 0 is not gross 0
    place(chain, 0.3)
    track(chain, 0.3, seconds=10)
    assert chain.zero() > 0.29 * DIVISION  # 4.5.7: a negative net value equivalent to gross zero


def test_the_zero_is_tracked_no_further_than_4_per_cent_of_max() -> None:
    chain = scale_with(79.5)
    chain.set(set_zero)
    for tenth in range(200):
        track(place(chain, 79.5 + tenth / 100), 79.5 + tenth / 100, seconds=1)
    assert 79.9 * DIVISION < chain.zero() <= 80 * DIVISION


@given(st.lists(st.tuples(st.integers(1, 3000), st.floats(-0.5, 0.5)), min_size=2, max_size=200), st.integers(1, 29))
def test_no_second_sees_a_correction_of_more_than_half_a_division(moments, exponent) -> None:
    state = new_state()
    corrections, time_ms = [], 0
    for wait_ms, part in moments:
        time_ms += wait_ms
        before = state[ZERO]
        state[FINE] = before + round(part * (1 << exponent))
        track_zero(state, 1 << exponent, FURTHEST, wait_ms)
        corrections.append((time_ms, abs(state[ZERO] - before)))
    for start, _ in corrections:
        assert 2 * sum(size for time, size in corrections if start <= time < start + 1000) <= 1 << exponent


# Any sequence


@given(steps)
def test_no_sequence_gets_past_the_limits_or_loses_anything(actions) -> None:
    chain = scale_with(0)
    load = 0.0
    for what, value in actions:
        if what == "load":
            load = value + 0.0
            place(chain, load, readings=2)
        elif what == "wait":
            track(chain, load, seconds=value / 10)
        elif what == "clear":
            chain.clear_zero()
        elif what == "clear tare":
            chain.clear_tare()
        else:
            before = chain.zero(), chain.tare(), chain.flags
            refused = chain.set(FUNCTIONS[what])
            assert refused == DONE or before == (chain.zero(), chain.tare(), chain.flags)
            assert refused == DONE or not before[2] & (FAULTS | MOVING) or refused in (NOT_AT_REST, NO_INDICATION)
        _holds(chain)


def _holds(chain: MeasuringChain) -> None:
    initial = chain._state[INITIAL]
    assert 5 * abs(initial) <= MAX and 25 * abs(chain.zero() - initial) <= MAX
    assert 0 <= chain.tare() <= MAX
    if not chain.flags & FAULTS:
        assert chain.shown() == chain.fine - chain.zero() - chain.tare()
        assert chain.fine - chain.zero() <= MAX + 9.5 * DIVISION
        assert bool(chain.flags & NET) == (chain.tare() > 0)


@given(fines, fines)
def test_a_difference_is_exact_or_held_at_the_end_of_the_small_integers(a, b) -> None:
    assert difference(SmallInt(a), SmallInt(b)) == max(-FURTHEST, min(FURTHEST, a - b))


@given(st.lists(st.tuples(fines, st.sampled_from([*FUNCTIONS, "track"])), max_size=20), st.integers(1, 29))
def test_all_stays_small(actions, exponent) -> None:
    state = [SmallInt(value) for value in new_state()]
    capacity = SmallInt((1 << 30) - (1 << exponent))
    for fine, what in actions:
        state[FINE] = SmallInt(fine)
        if what == "track":
            track_zero(state, SmallInt(1 << exponent), capacity, SmallInt(200))
        else:
            FUNCTIONS[what](state, capacity)
    assert len(state) == SIZE and state[TARE] >= 0 and state[FLAGS] == 0


def test_a_net_value_below_what_can_be_held_is_under_range() -> None:
    """A curve of one bit below the division, half of Max as tare, and then a pull of as much the other way."""
    chain = MeasuringChain()
    chain.use(CoefficientRecord(Curve(0, 0, 1, (LIMIT - 5, 0)), 1, 0, (1 << 29) - 1))
    for counts, flags in ((5_000_000, 0), (-3_000_000, NET), (-5_000_000, UNDER_RANGE)):
        for _ in range(3 * ENOUGH):
            chain.take(counts)
        assert chain.flags == flags
        if not flags:
            assert chain.set(set_tare) == DONE
