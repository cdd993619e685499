"""Axes in round numbers."""

from math import isclose

from hypothesis import given
from hypothesis import strategies as st

from scalewright.plots.ticks import axis

NUMBERS = st.floats(-1e9, 1e9, allow_subnormal=False).map(lambda x: round(x, 6))


@given(st.lists(NUMBERS, min_size=1, max_size=20), st.integers(2, 12))
def test_an_axis_holds_all_values_in_few_intervals_of_a_round_step(values, most) -> None:
    found = axis(values, most)
    assert 1 <= found.intervals <= most
    assert found.first * found.step <= min(values) + 1e-6 * found.step
    assert found.last * found.step >= max(values) - 1e-6 * found.step
    mantissa = f"{found.step:.3e}"[0]
    assert mantissa in "125" and isclose(found.step, float(mantissa + f"{found.step:.0e}"[1:]), rel_tol=1e-9)


def test_labels_have_as_many_decimals_as_the_step_needs() -> None:
    assert axis([0, 1], 4).labels() == ["0.0", "0.5", "1.0"]
    assert axis([-30, 25], 6).labels() == ["-30", "-20", "-10", "0", "10", "20", "30"]
    assert axis([0, 4e-9], 5).labels() == ["0", "1e-09", "2e-09", "3e-09", "4e-09"]


def test_one_value_or_none_still_makes_an_axis() -> None:
    assert axis([], 4).labels()[0] == "0.0"
    found = axis([20.0], 4)
    assert found.first * found.step < 20 < found.last * found.step
