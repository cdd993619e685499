"""Noise that remembers, against the theory of the first-order process and scipy's estimate of a spectrum."""

import math

import numpy as np
import pytest
from scipy.signal import welch

from virtual_scale.random_numbers import RandomNumbers
from virtual_scale.random_processes import Flicker, Wandering


def test_a_wandering_value_is_correlated_exponentially():
    """Autocorrelation exp(-t / T), variance 1, whatever the steps: of the first-order Gauss-Markov process.

    6000 values 0.5 T apart hold some 1500 independent ones: 0.1 is four standard deviations of each estimate."""
    process, random_numbers = Wandering(), RandomNumbers(3)
    values = np.array([process.at(10.0 * k / 2, 10.0, random_numbers) for k in range(6000)])
    assert values.var() == pytest.approx(1, abs=0.15)
    for lag in (1, 2, 4):
        assert np.mean(values[:-lag] * values[lag:]) == pytest.approx(math.exp(-lag / 2), abs=0.1)


def test_a_wandering_value_stays_where_no_time_passes_and_starts_anywhere():
    random_numbers = RandomNumbers(4)
    starts = [Wandering().at(0.0, 1.0, random_numbers) for _ in range(2000)]
    assert np.var(starts) == pytest.approx(1, abs=0.13)  # four standard deviations
    process = Wandering()
    assert process.at(5.0, 1.0, random_numbers) == process.at(5.0, 1.0, random_numbers)


def test_flicker_noise_has_a_spectrum_of_one_over_f():
    """1 / (f ln 10): variance 1 in each decade. The first-order processes by themselves come within 11 % of that."""
    frequencies = np.logspace(-3, 0, 50)
    lorentzians = sum(4 * T / (1 + (2 * np.pi * frequencies * T) ** 2) for T in Flicker.TIME_CONSTANTS_S)
    assert lorentzians * frequencies * math.log(10) == pytest.approx(1, abs=0.11)

    flicker, random_numbers = Flicker(), RandomNumbers(5)
    values = np.array([flicker.at(k / 10, random_numbers) for k in range(16_384)])
    frequencies, density = welch(values, fs=10, nperseg=4096)
    for low_hz, high_hz in ((0.02, 0.06), (0.06, 0.2), (0.2, 0.6)):
        band = (low_hz <= frequencies) & (frequencies < high_hz)
        assert np.mean(density[band] * frequencies[band]) * math.log(10) == pytest.approx(1, abs=0.25)
