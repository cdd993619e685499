"""Recordings cut into stretches of one load and blocks; the temperature finer than its steps."""

import numpy as np
import pytest
from scipy.signal import savgol_filter

from scalewright.analysis import soak as soak_module
from scalewright.analysis.soak import Soak, block_means, joined
from scalewright.errors import InputError


def recording(loads: list[float], temperature_c=None, interval_s: float = 0.1) -> Soak:
    time_s = np.arange(len(loads)) * interval_s + 5.0
    counts = np.arange(len(loads), dtype=float)
    temperatures = np.full(len(loads), 20.0) if temperature_c is None else np.asarray(temperature_c, dtype=float)
    return Soak(time_s, counts, temperatures, np.asarray(loads, dtype=float))


def test_a_dwell_begins_between_the_last_reading_before_the_load_changed_and_the_first_after() -> None:
    dwells = recording([0] * 100 + [500] * 200 + [0] * 50).dwells()
    assert [(d.load_g, d.first, d.last) for d in dwells] == [(0, 0, 100), (500, 100, 300), (0, 300, 350)]
    assert [d.start_s for d in dwells] == pytest.approx([5.0, 14.95, 34.95])
    assert [d.end_s for d in dwells] == pytest.approx([14.95, 34.95, 39.9])


def test_a_load_that_came_in_a_gap_came_at_its_end() -> None:
    """Whoever places a load says so when it is on."""
    whole = recording([0] * 100 + [500] * 200)
    kept = np.r_[0:100, 150:300]
    columns = (whole.time_s, whole.counts, whole.temperature_c, whole.load_g)
    assert Soak(*(column[kept] for column in columns)).dwells()[1].start_s == pytest.approx(whole.time_s[150] - 0.05)


def test_blocks_are_means_that_leave_out_settling_and_cover_the_rest() -> None:
    loads = [0] * 1000 + [500] * 2000
    blocks = block_means(recording(loads), settle_s=10)
    assert blocks.number.sum() == 1000 + 2000 - 100
    assert np.all(blocks.since_s[blocks.dwell == 1] > 10)
    total = sum(range(1000)) + sum(range(1100, 3000))
    assert blocks.counts @ blocks.number == pytest.approx(total)
    assert 2 * blocks.half_s == pytest.approx(blocks.number / 10)


def test_blocks_are_short_where_creep_is_fast() -> None:
    blocks = block_means(recording([0] * 1000 + [500] * 60_000), settle_s=10)
    lengths = 2 * blocks.half_s[blocks.dwell == 1]
    assert 1 <= lengths[0] < 1.2 and lengths[-1] > 5 and len(lengths) < 1000


def test_joined_blocks_keep_every_reading_and_stay_under_one_load() -> None:
    blocks = block_means(recording([0] * 1000 + [500] * 2000), settle_s=0)
    for several in (1, 2, 3, 8, 1000):
        number, means, _ = joined(blocks, blocks.counts, several)
        assert number @ means == pytest.approx(blocks.number @ blocks.counts)
        assert number[: len(number)].sum() == 3000
        edges = np.cumsum(number)
        assert 1000 in edges  # no block reaches over the change of load


def test_a_slow_temperature_is_known_finer_than_its_steps() -> None:
    """A ramp of 0.1 C/min read in steps of 1/16 C comes back to a tenth of a step; a steady one stays as read."""
    true_c = 20 + 0.1 / 60 * np.arange(40_000) * 0.1
    shown_c = np.round(true_c * 16) / 16
    blocks = block_means(recording([0.0] * 40_000, shown_c))
    inner = (blocks.middle_s > 155) & (blocks.middle_s < 3850)
    expected_c = 20 + 0.1 / 60 * (blocks.middle_s - 5.0)
    assert np.abs(blocks.temperature_c - expected_c)[inner].max() < 1 / 160
    assert blocks.rate_c_per_s[inner] == pytest.approx(0.1 / 60, rel=0.05)
    assert block_means(recording([0.0] * 2000)).temperature_c == pytest.approx(20.0)


def test_missing_temperatures_are_taken_from_those_around_them() -> None:
    shown_c = np.full(3000, 20.0)
    shown_c[2000:] = 20.0625
    shown_c[500:1500] = np.nan
    with_gaps = block_means(recording([0.0] * 3000, shown_c)).temperature_c
    assert np.all(np.isfinite(with_gaps)) and with_gaps.min() >= 20 and with_gaps.max() <= 20.0625
    assert not recording([0.0] * 100, [np.nan] * 100).has_temperature


def test_the_rate_is_that_of_savitzky_and_golay() -> None:
    """scipy.signal.savgol_filter, 9 points, parabolas, first derivative."""
    step_s = soak_module._SMOOTHING_S / 9
    time_s = np.arange(0, 900 * step_s, step_s)
    temperature_c = 20 + 3 * np.sin(time_s / 300)
    ours = soak_module._rate(time_s, temperature_c)
    theirs = savgol_filter(temperature_c, 9, 2, deriv=1, delta=step_s)
    assert ours[5:-6] == pytest.approx(theirs[5:-6], rel=1e-9)


def test_the_resolution_of_a_thermometer_is_its_smallest_step() -> None:
    assert recording([0.0] * 10, [20, 20, 20.0625, 20.125] + [20.0] * 6).temperature_step_c == 0.0625
    assert recording([0.0] * 10).temperature_step_c == 0


@pytest.mark.parametrize(
    ("loads", "reason"), [([0.0] * 5, "5 readings"), ([0.0, 1.0] * 100, "no load stood for more than 10 s")]
)
def test_what_is_too_short_is_refused(loads, reason) -> None:
    with pytest.raises(InputError, match=reason):
        block_means(recording(loads))


def test_times_that_go_back_are_refused() -> None:
    with pytest.raises(InputError, match="do not rise"):
        Soak(np.array([0.0, 1, 2, 1.5, 3, 4, 5, 6]), np.zeros(8), np.zeros(8), np.zeros(8))
