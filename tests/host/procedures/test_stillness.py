"""When a load is taken to be at rest."""

import random
from collections.abc import Iterator

import pytest

from scalewright.errors import MeasurementError
from scalewright.link.reading import Reading
from scalewright.procedures.stillness import take_still
from shared_calc.reading import NO_DATA, SATURATED, UNCALIBRATED


def stream(counts: Iterator[float], flags: int = UNCALIBRATED) -> Iterator[Reading]:
    for k, count in enumerate(counts):
        yield Reading(k, k * 12, round(count), None, None, flags)


def noisy(seed: int, level: float, sigma: float) -> Iterator[float]:
    source = random.Random(seed)
    while True:
        yield source.gauss(level, sigma)


def test_a_load_at_rest_is_taken_at_the_first_chance_nearly_always() -> None:
    # The limit is 4 standard deviations of the difference: 1 refusal in 16 000 for known noise, some more for noise
    # that is itself estimated from 31 differences.
    first = sum(take_still(stream(noisy(seed, 1e6, 40)), 16).time_ms == 31 * 12 for seed in range(2000))
    assert first >= 1980


def test_readings_before_the_load_came_to_rest_are_not_used() -> None:
    def settling() -> Iterator[float]:
        level = noisy(1, 1_000_000, 5)
        for k in range(100_000):
            yield next(level) - 200_000 * 0.8**k

    still = take_still(stream(settling()), 16)
    assert abs(still.mean_counts - 1_000_000) < 20


def test_a_load_that_never_rests_is_refused_by_the_devices_own_time() -> None:
    ramp = stream(float(1000 * k) for k in range(100_000))
    with pytest.raises(MeasurementError, match="not still within 30 s"):
        take_still(ramp, 16)


@pytest.mark.parametrize("flag", [NO_DATA, SATURATED])
def test_a_fault_is_never_averaged(flag: int) -> None:
    with pytest.raises(MeasurementError, match=r"NO_DATA|SATURATED"):
        take_still(stream(noisy(1, 0, 1), flag), 16)


def test_the_sum_is_exact() -> None:
    still = take_still(stream(float(7 + k % 2) for k in range(100)), 16)
    assert (still.counts_sum, still.readings, still.spread_counts) == (120, 16, 1)
