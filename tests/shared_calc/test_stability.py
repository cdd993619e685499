"""At rest: so many indications in a row within half a division of the first of them."""

from hypothesis import given
from hypothesis import strategies as st

from shared_calc.chain_state import new_state
from shared_calc.stability import ENOUGH, forget_readings, is_at_rest

HALF = 1 << 17  # half a division, in the unit of `fine`
fines = st.integers(-(1 << 29), 1 << 29)


def rests(values):
    """Return what is said of each indication."""
    state = new_state()
    return [is_at_rest(state, fine, HALF) for fine in values]


@given(fines, st.lists(st.integers(-HALF, HALF), min_size=ENOUGH, max_size=100))
def test_a_load_is_at_rest_at_the_first_chance_and_stays_so_within_half_a_division(first, offsets) -> None:
    said = rests([first, *(first + offset for offset in offsets)])
    assert said == [False] * (ENOUGH - 1) + [True] * (len(offsets) + 2 - ENOUGH)


@given(fines, st.sampled_from([1, -1]), st.integers(0, 1 << 20), st.integers(0, 60))
def test_more_than_half_a_division_ends_it_until_enough_agree_anew(first, side, more, before) -> None:
    moved = first + side * (HALF + 1 + more)
    said = rests([first] * (ENOUGH + before) + [moved] * ENOUGH)
    assert said[ENOUGH - 1 : ENOUGH + before] == [True] * (before + 1)
    assert said[ENOUGH + before :] == [False] * (ENOUGH - 1) + [True]


@given(st.lists(fines, max_size=80), st.integers(1, 1 << 20))
def test_where_it_says_at_rest_the_last_readings_lie_within_a_division(values, spread) -> None:
    values = [value % spread for value in values]
    for k, at_rest in enumerate(rests(values)):
        last = values[k + 1 - ENOUGH : k + 1]
        assert not at_rest or max(last) - min(last) <= 2 * HALF


@given(st.integers(HALF // (ENOUGH - 1) + 1, HALF))
def test_a_load_that_rises_by_half_a_division_in_so_many_readings_is_never_at_rest(slope) -> None:
    assert not any(rests(range(0, 200 * slope, slope)))


def test_what_was_before_can_be_forgotten() -> None:
    state = new_state()
    for _ in range(ENOUGH):
        at_rest = is_at_rest(state, 5, HALF)
    assert at_rest
    forget_readings(state)
    assert [is_at_rest(state, 5, HALF) for _ in range(ENOUGH)] == [False] * (ENOUGH - 1) + [True]
