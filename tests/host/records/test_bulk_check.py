"""The quick check against the careful one, and against what a run is."""

from itertools import groupby, islice

import pytest
from hypothesis import given, settings, strategies

from scalewright.records import bulk_check, chain

Names = list[tuple[str, str]]
NAMES = strategies.lists(
    strategies.tuples(strategies.sampled_from(["a", "b.c"]), strategies.sampled_from(["1", "22", 'ü "\\'])),
    max_size=130,
)


def laid(names: Names) -> tuple[list[chain.Row], list[bulk_check.Run]]:
    """Rows of these kinds and jobs, and their runs."""
    rows, last = [], bytes(32)
    for seq, (kind, job) in enumerate(names, 1):
        rows.append(chain.link(last, seq, chain.Content("2031-05-04T12:00:00.000000Z", kind, job, '{"n":1}')))
        last = rows[-1][2]
    runs = []
    for filed, group in groupby(rows, key=lambda row: chain.filed_under(row[1])):
        runs.append((next(group)[0], ",{},{},".format(*filed).encode()))
    return rows, runs


def checked(rows: list[chain.Row], runs: list[bulk_check.Run], head: str | None = None) -> chain.Verification | None:
    left = iter([row[1:] for row in rows])
    return bulk_check.verify(lambda n: list(islice(left, n)), iter(runs), head)


@settings(max_examples=40, deadline=None)
@given(NAMES)
def test_a_chain_that_holds_is_found_to_hold_with_its_end(names: Names) -> None:
    rows, runs = laid(names)
    assert checked(rows, runs) == chain.verify(lambda: rows)


@settings(max_examples=40, deadline=None)
@given(NAMES.filter(len), strategies.data())
def test_any_changed_byte_makes_it_unsure(names: Names, data: strategies.DataObject) -> None:
    rows, runs = laid(names)
    number = data.draw(strategies.integers(0, len(rows) - 1))
    row = list(rows[number])
    column = data.draw(strategies.sampled_from([1, 2]))
    changed = bytearray(row[column])  # type: ignore[call-overload]
    changed[data.draw(strategies.integers(0, len(changed) - 1))] ^= data.draw(strategies.integers(1, 255))
    row[column] = bytes(changed)
    assert checked([*rows[:number], tuple(row), *rows[number + 1 :]], runs) is None  # type: ignore[list-item]


@settings(max_examples=40, deadline=None)
@given(NAMES.filter(len), strategies.data())
def test_a_run_that_is_not_as_the_entries_are_makes_it_unsure(names: Names, data: strategies.DataObject) -> None:
    rows, runs = laid(names)
    number = data.draw(strategies.integers(0, len(runs) - 1))
    first, words = runs[number]
    end = runs[number + 1][0] if number + 1 < len(runs) else len(rows) + 1
    wrong = [(first, words.replace(b",", b";", 1))]
    if end - first > 1 and number > 0:  # whether the first begins with entry 1, the whole verification asks
        wrong.append((first + 1, words))
    for run in wrong:
        assert checked(rows, [*runs[:number], run, *runs[number + 1 :]]) is None


@pytest.mark.parametrize("kept", [0, 5, 11])
def test_an_expected_head_must_be_among_the_hashes(kept: int) -> None:
    rows, runs = laid([("a", "1")] * 12)
    found = checked(rows, runs, rows[kept][2].hex())
    assert found is not None and found.holds
    found = checked(rows, runs, "0" * 63 + "1")
    assert found is not None and found.reason == "rewritten"
    found = checked(rows, runs, chain.GENESIS)
    assert found is not None and found.holds
