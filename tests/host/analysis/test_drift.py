"""Soaks of cells whose temperature effects and creep are known: what is estimated agrees within what is stated."""

from math import log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t as student_t

from scalewright.analysis.drift import fit_drift, fit_transients
from scalewright.analysis.soak import Soak
from scalewright.errors import InputError
from tests.host.analysis.soaks import CAPACITY_COUNTS, soak, through_the_range


def random_cell(seed: int):
    """Return a soak and the truth about it, by the names of a fit."""
    draw = np.random.default_rng([seed, 7])
    zero_per_c, span_per_c = draw.uniform(-2e-5, 2e-5, 2).tolist()
    (share_1, share_2), times = draw.uniform(1e-5, 8e-5, 2).tolist(), (draw.uniform(10, 40), draw.uniform(200, 900))
    airs_c = [20.0, *draw.permutation([10.0, 30.0, 40.0]).tolist(), 20.0]
    creep = ((share_1, times[0]), (share_2, times[1]))
    recording = soak(
        through_the_range(airs_c, 3000.0), seed, zero_per_c=zero_per_c, span_per_c=span_per_c, creep=creep
    )
    truth = {"zero 1": zero_per_c * CAPACITY_COUNTS, "span 1": span_per_c, "creep 1": share_1, "creep 2": share_2}
    truth |= {f"log time constant of creep {k}": log(time_s) for k, time_s in enumerate(times, 1)}
    return recording, truth


def test_over_many_cells_the_truth_lies_within_the_stated_uncertainties() -> None:
    """12 cells, 6 quantities each: 72 intervals of 95 % hold the truth as often as that, and are not far too wide."""
    errors, held = [], 0
    for seed in range(12):
        recording, truth = random_cell(seed)
        fit = fit_drift(recording)
        factor = student_t.ppf(0.975, fit.conclusion.noise.degrees_of_freedom)
        truth["span 1"] /= 1 + truth["span 1"] * (fit.reference_c - 20)  # the cell's own reference is 20 C
        for name, true in truth.items():
            value, u = fit.quantity(name)
            errors.append((value - true) / u)
            held += abs(value - true) <= factor * u
    assert held >= 66  # fewer would come by chance once in 100 times
    assert 0.5 < sqrt(np.mean(np.square(errors))) < 1.3


def test_a_usual_cell_comes_out_to_a_part_in_a_hundred() -> None:
    fit = fit_drift(soak(through_the_range([20, 10, 30, 40, 20], 3000.0)))
    assert fit.quantity("zero 1").value == pytest.approx(7e-6 * CAPACITY_COUNTS, rel=0.01)
    assert fit.quantity("span 1").value == pytest.approx(5e-6, rel=0.02)
    assert fit.time_constant("creep 2").value == pytest.approx(400, rel=0.02)
    assert fit.quantity("creep 2").value == pytest.approx(6e-5, rel=0.02)
    assert (fit.model.zero_degree, fit.model.span_degree) == (1, 1)
    assert fit.quadratic["zero"].p > 0.01 < fit.quadratic["span"].p


def test_creep_and_the_lag_of_the_sensor_would_pass_for_temperature_if_they_were_not_told_apart() -> None:
    """Load on while it warms up: a straight line through counts against temperature is off by far more than we are."""
    recording = soak([(0.0, 3600.0, 10.0), (5000.0, 7200.0, 30.0), (0.0, 3600.0, 10.0)], zero_per_c=0.0, span_per_c=0.0)
    loaded = (recording.load_g > 0) & (recording.time_s > 3610)
    naive = np.polyfit(recording.temperature_c[loaded], recording.counts[loaded], 1)[0] / CAPACITY_COUNTS
    fit = fit_drift(recording)
    assert abs(naive) > 2e-6
    assert abs(fit.quantity("span 1").value) < 5e-8


def test_a_curved_zero_is_found_and_asked_for_by_its_f_test() -> None:
    plan = through_the_range([20, 10, 30, 40, 20], 3000.0)
    recording = soak(plan, zero_c2=0.2)
    fit = fit_drift(recording, reference_c=20.0)
    value, u = fit.quantity("zero 2")
    assert fit.quadratic["zero"].p < 1e-3 and abs(value - 0.2) < 3 * u < 0.02
    assert fit.effect("zero", 40.0).value == pytest.approx(7e-6 * CAPACITY_COUNTS * 20 + 0.2 * 400, rel=0.01)
    assert fit.effect("zero", 40.0, slope=True).value == pytest.approx(7e-6 * CAPACITY_COUNTS + 0.4 * 20, rel=0.02)
    assert fit_drift(recording, degree=1).model.zero_degree == 1
    assert fit_drift(soak(plan), degree=2).model.span_degree == 2


def test_a_bend_is_not_looked_for_where_two_temperatures_were_recorded() -> None:
    fit = fit_drift(soak(through_the_range([10, 30], 3000.0), zero_c2=0.2))
    assert fit.model.span_degree == 1 and "span" not in fit.quadratic
    assert fit_drift(soak(through_the_range([10, 20, 30], 3000.0))).quadratic.keys() == {"zero", "span"}


def test_warm_up_that_the_thermometer_does_not_see_is_told_apart() -> None:
    recording = soak(through_the_range([20, 30, 10], 3000.0))
    warming = recording.counts + 300 * np.exp(-recording.time_s / 900)
    fit = fit_drift(Soak(recording.time_s, warming, recording.temperature_c, recording.load_g))
    value, u = fit.quantity("warm-up")
    assert abs(value - 300) < 4 * u < 60
    assert fit.time_constant("warm-up").value == pytest.approx(900, rel=0.1)
    assert fit.quantity("zero 1").value == pytest.approx(7e-6 * CAPACITY_COUNTS, rel=0.01)


def test_the_empty_scale_alone_tells_the_zero_only() -> None:
    fit = fit_drift(soak([(0.0, 2700.0, air_c) for air_c in (20.0, 30.0, 10.0)]))
    assert fit.quantity("zero 1").value == pytest.approx(7e-6 * CAPACITY_COUNTS, rel=0.01)
    assert fit.quantity("span 1") == (0.0, 0.0)


def test_creep_alone_is_found_at_a_steady_temperature() -> None:
    plan = [(0.0, 120.0, 20.0), (5000.0, 1810.0, 20.0), (0.0, 900.0, 20.0)]
    fit = fit_transients(soak(plan, step_s=0.1, zero_per_c=0.0, span_per_c=0.0))
    for name, share, constant_s in (("creep 1", 4e-5, 15.0), ("creep 2", 6e-5, 400.0)):
        for found, true in ((fit.quantity(name), share), (fit.time_constant(name), constant_s)):
            assert abs(found.value - true) < 3 * found.u < 0.6 * true


@pytest.mark.parametrize(
    ("plan", "reason"),
    [
        ([(0.0, 600.0, 20.0)], "the temperature hardly changes: 20.00 to 20.1"),
        ([(3000.0, 1800.0, 20.0), (3000.0, 1800.0, 40.0)], "zero and span cannot be told apart"),
    ],
)
def test_a_recording_that_cannot_tell_says_what_is_missing(plan, reason) -> None:
    with pytest.raises(InputError, match=reason):
        fit_drift(soak(plan))


def test_without_a_thermometer_there_is_no_effect_of_temperature() -> None:
    recording = soak([(0.0, 600.0, 20.0)])
    with pytest.raises(InputError, match="no temperature is recorded"):
        fit_drift(Soak(recording.time_s, recording.counts, recording.temperature_c * np.nan, recording.load_g))


@settings(max_examples=60)
@given(
    st.lists(st.sampled_from([0.0, 500.0, 3000.0, -5.0]), min_size=1, max_size=8),
    st.integers(8, 400),
    st.sampled_from([0.1, 1.0, 60.0]),
    st.sampled_from([0.0, 0.1, 5.0, 20.0]),
    st.sampled_from([0.0, 1.0, 1e5]),
    st.integers(0, 99),
)
def test_any_recording_gives_a_result_or_says_what_is_missing(loads, number, step_s, swing_c, noise, seed) -> None:
    draw = np.random.default_rng(seed)
    load_g = np.repeat(loads, -(-number // len(loads)))[:number]
    temperature_c = 20 + np.round(16 * swing_c * np.sin(np.arange(number) / 50)) / 16
    temperature_c[draw.random(number) < seed / 300] = np.nan
    counts = np.round(40_000 + 850 * load_g + noise * draw.normal(size=number))
    recording = Soak(step_s * np.arange(1.0, number + 1), counts, temperature_c, load_g)
    for fit in (fit_drift, fit_transients):
        try:
            found = fit(recording)
        except InputError as error:
            assert error.message
        else:
            assert np.all(np.isfinite(found.conclusion.covariance))
