"""The due list holds everything once, in the order of urgency, and a later day never makes anything less urgent."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.due_list import FINE, NO_DATE, OVERDUE, SOON, STATES, Kept, due_list

TODAY = date(2026, 2, 28)
days = st.dates(date(2025, 1, 1), date(2028, 1, 1))
things = st.lists(
    st.builds(Kept, st.sampled_from("ABCDEF"), st.sampled_from(["scale", "masses"]), st.none(), st.none() | days)
)


@pytest.mark.parametrize(
    ("due", "state", "left"),
    [
        (date(2026, 2, 27), OVERDUE, -1),
        (date(2026, 2, 28), SOON, 0),
        (date(2026, 3, 30), SOON, 30),
        (date(2026, 3, 31), FINE, 31),
        (None, NO_DATE, None),
    ],
)
def test_the_due_date_is_the_last_day_in_time(due: date | None, state: str, left: int | None) -> None:
    (line,) = due_list([Kept("PLOVER-3", "scale", None, due)], TODAY)
    assert (line.state, line.days) == (state, left)


def test_the_most_urgent_comes_first() -> None:
    dates = {"fine": 400, "soon": 5, "late": -1, "very late": -90, "never": None}
    kept = [Kept(key, "scale", None, None if n is None else TODAY + timedelta(n)) for key, n in dates.items()]
    assert [line.kept.key for line in due_list(kept, TODAY)] == ["very late", "late", "never", "soon", "fine"]


@given(things, days, st.integers(0, 90))
def test_nothing_is_lost_and_the_order_is_that_of_states_and_dates(kept: list[Kept], on: date, soon: int) -> None:
    lines = due_list(kept, on, soon)
    assert sorted(map(repr, kept)) == sorted(repr(line.kept) for line in lines)
    order = [(STATES.index(line.state), line.days or 0) for line in lines]
    assert order == sorted(order)


@given(st.none() | days, days, st.integers(0, 400), st.integers(0, 90))
def test_time_makes_nothing_less_urgent(due: date | None, on: date, later: int, soon: int) -> None:
    states = [due_list([Kept("A", "scale", None, due)], day, soon)[0].state for day in (on, on + timedelta(days=later))]
    assert STATES.index(states[1]) <= STATES.index(states[0])
