"""Each rule finds what it names, no less and no more. Source: NIST/SEMATECH e-Handbook, section 6.3.2."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.analysis.chart_rules import RULES, Signal, runs


def found(name: str, deviations: list[float]) -> list[tuple[tuple[int, ...], str]]:
    return [(signal.points, signal.side) for signal in RULES[name].find(deviations)]


@pytest.mark.parametrize(
    ("name", "deviations", "expected"),
    [
        ("beyond 3 sd", [0, 3.0, 3.01, -3.01, 0], [((2,), "above"), ((3,), "below")]),
        ("2 of 3 beyond 2 sd", [2.1, 0, 2.1], [((0, 2), "above")]),
        ("2 of 3 beyond 2 sd", [2.1, 0, 0, 2.1], []),
        ("2 of 3 beyond 2 sd", [2.1, -2.1, 0], []),
        ("2 of 3 beyond 2 sd", [-2.1, -2.1, -2.1, 0, 0, -2.1, -2.1], [((0, 1, 2), "below"), ((5, 6), "below")]),
        ("4 of 5 beyond 1 sd", [1.1, 1.1, 0, 1.1, 1.1], [((0, 1, 3, 4), "above")]),
        ("4 of 5 beyond 1 sd", [1.1, 1.1, 0, 0, 1.1, 1.1], []),
        ("8 on one side", [0.1] * 8, [((0, 1, 2, 3, 4, 5, 6, 7), "above")]),
        ("8 on one side", [-0.1] * 9, [((0, 1, 2, 3, 4, 5, 6, 7, 8), "below")]),
        ("8 on one side", [0.1] * 7 + [0.0] + [0.1] * 7, []),
        ("6 in a trend", [0, 1, 2, 3, 4, 5], [((0, 1, 2, 3, 4, 5), "rising")]),
        ("6 in a trend", [5, 4, 3, 2, 1, 1, 0], []),
        ("6 in a trend", [9, 6, 5, 4, 3, 2, 1, 5], [((0, 1, 2, 3, 4, 5, 6), "falling")]),
        ("14 alternating", [1, -1] * 7, [(tuple(range(14)), "alternating")]),
        ("14 alternating", [1, -1] * 6 + [1], []),
    ],
)
def test_a_rule_finds_what_it_names(
    name: str, deviations: list[float], expected: list[tuple[tuple[int, ...], str]]
) -> None:
    assert found(name, deviations) == expected


@given(st.lists(st.sampled_from([-3.5, -2.5, -1.5, -0.5, 0.0, 0.5, 1.5, 2.5, 3.5]), max_size=30))
def test_zone_rules_find_every_window_that_a_plain_reading_finds(deviations: list[float]) -> None:
    for name, least, of, sds in (("2 of 3 beyond 2 sd", 2, 3, 2), ("4 of 5 beyond 1 sd", 4, 5, 1)):
        plain: set[int] = set()
        for sign in (1, -1):
            for start in range(len(deviations)):
                window = [i for i in range(start, min(start + of, len(deviations))) if sign * deviations[i] > sds]
                plain |= set(window) if len(window) >= least else set()
        assert {point for points, _ in found(name, deviations) for point in points} == plain


@given(st.lists(st.booleans(), max_size=30), st.integers(1, 5))
def test_runs_are_whole_and_long_enough(flags: list[bool], least: int) -> None:
    places = list(runs(flags, least))
    assert all(flags[i] for place in places for i in place)
    text = "".join("x" if flag else " " for flag in flags)
    assert [len(place) for place in places] == [len(run) for run in text.split() if len(run) >= least]


def test_a_signal_says_what_it_means_at_the_bench() -> None:
    (signal,) = RULES["6 in a trend"].find([0, 1, 2, 3, 4, 5])
    assert isinstance(signal, Signal)
    assert signal.meaning.startswith("something creeps in one direction")
