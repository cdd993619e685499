"""The random numbers are those of the published generator, and their normal numbers are normal enough."""

import statistics

from virtual_scale.random_numbers import RandomNumbers


def test_they_are_marsaglias():
    """The example seed of the paper, 2463534242, and what the generator gives from there (from memory)."""
    numbers = RandomNumbers(1)
    numbers.state = 2463534242
    assert [numbers.bits() for _ in range(5)] == [723471715, 2497366906, 2064144800, 2008045182, 3532304609]


def test_one_seed_gives_one_sequence_and_its_neighbour_another():
    first, again, neighbour = ([n.bits() for _ in range(100)] for n in map(RandomNumbers, (7, 7, 8)))
    assert first == again
    assert not set(first) & set(neighbour)


def test_every_seed_gives_a_state_that_is_not_zero():
    assert all(RandomNumbers(seed).state for seed in range(-1000, 1000))


def test_normal_numbers_have_mean_0_variance_1_and_the_kurtosis_of_twelve_uniform_ones():
    """The sum of n uniform numbers has an excess kurtosis of -1.2 / n (Irwin-Hall)."""
    numbers = RandomNumbers(3)
    n = 40_000
    values = [numbers.normal() for _ in range(n)]
    assert abs(statistics.mean(values)) < 4 / n**0.5
    assert abs(statistics.pvariance(values) - 1) < 4 * (1.9 / n) ** 0.5
    kurtosis = statistics.fmean(v**4 for v in values) - 3
    assert abs(kurtosis + 0.1) < 4 * (80 / n) ** 0.5  # the variance of v**4 is at most that of a normal v, 96


def test_happens_so_many_times_in_a_million():
    numbers = RandomNumbers(5)
    happened = sum(numbers.happens(20_000) for _ in range(50_000))
    assert abs(happened - 1000) < 4 * (1000 * 0.98) ** 0.5
    assert not any(numbers.happens(0) for _ in range(1000))
