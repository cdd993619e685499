"""Counts of a recording in grams."""

import numpy as np
import pytest

from scalewright.analysis.grams import curve_in_grams, g_per_count, straight_scale
from scalewright.analysis.soak import Soak
from scalewright.errors import InputError
from shared_calc.calibration import curve_through
from shared_calc.coefficient_record import CoefficientRecord

# An invented scale, d = 0.5 g, bowed: the loads of a quadratic through these counts
COUNTS, LOADS_G = [40_000, 1_000_000, 2_600_000], [0, 1000, 3000]
BOWED = CoefficientRecord(curve_through(COUNTS, 1, [2 * g for g in LOADS_G], [1] * 3, 2, 1, 0, 2_700_000), 5, -1, 6000)


def test_a_curve_gives_the_loads_it_was_made_from() -> None:
    assert curve_in_grams(BOWED)(np.array(COUNTS, dtype=float)) == pytest.approx(LOADS_G, abs=0.001)


def test_the_slope_is_that_of_the_curve() -> None:
    in_grams = curve_in_grams(BOWED)
    for counts in (100_000.0, 1_300_000.0, 2_500_000.0):
        around = in_grams(np.array([counts - 10_000, counts + 10_000]))
        assert g_per_count(BOWED, counts) == pytest.approx((around[1] - around[0]) / 20_000, rel=1e-5)


def test_counts_that_the_curve_does_not_cover_are_refused() -> None:
    with pytest.raises(InputError, match="outside what the coefficients cover"):
        curve_in_grams(BOWED)(np.array([0.0, 5_000_000.0]))


def test_a_straight_line_goes_through_what_each_load_showed_last() -> None:
    load_g = np.repeat([0.0, 500.0, 2000.0], 200)
    counts = 1000 + 800 * load_g + np.linspace(0, 50, 600)
    soak = Soak(np.arange(600) * 0.1, counts, np.full(600, np.nan), load_g)
    zero, full = counts[100:200].mean(), counts[500:600].mean()
    assert straight_scale(soak)(np.array([zero, full])) == pytest.approx([0.0, 2000.0], abs=0.001)
