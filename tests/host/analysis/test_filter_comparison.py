"""The verdicts on filters whose behaviour is known, and the goals of the device's own."""

from functools import partial
from math import log, sqrt

import numpy as np
import pytest

from scalewright.analysis.filter_cases import STEPS, generated, pours, recorded, steps, weighings
from scalewright.analysis.filter_comparison import Loads, Verdict, judge, settled_after
from scalewright.analysis.filters import Filter, filters, mean_since, moving_mean
from scalewright.errors import InputError

SIGMA = 40.0
HALF_DIVISION = 2 * SIGMA
CASES = [*(f"step of {size:g} sigma" for size in STEPS), "pour of 1000 sigma"]
CLEAR_CASES = CASES[STEPS.index(2.0) :]
"""what stands out from the noise: pours, and steps from 2 sigma"""


@pytest.fixture(scope="module")
def loads() -> tuple[dict[str, Loads], Loads]:
    return generated(SIGMA, 150, 1)


@pytest.fixture(scope="module")
def verdicts(loads) -> dict[str, Verdict]:
    return {one.name.split(",")[0]: judge(one, *loads, HALF_DIVISION) for one in filters(32)}


def source(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


# The measures


def test_a_delay_is_a_settling_time() -> None:
    loads = steps(1000, 1e-9, 10, source())
    for delay in (0, 1, 7, 599):
        late = np.concatenate((np.full(delay, loads.level[0]), loads.level[: len(loads.level) - delay]))
        assert settled_after(late, loads, 1.0) == delay + 1
    assert settled_after(np.zeros(len(loads.level)), loads, 1.0) is None


def test_settled_means_95_percent_of_the_loads_for_good() -> None:
    loads = steps(1000, 1e-9, 100, source())
    off = loads.level.copy()
    for first, _ in loads.dwells()[:5]:
        off[first + 50] += 10
    assert settled_after(off, loads, 1.0) == 1
    off[loads.dwells()[5][0] + 50] += 10
    assert settled_after(off, loads, 1.0) == 52


def test_the_mean_that_is_told_settles_as_theory_has_it() -> None:
    """Within 3 sigma / R in 95 % of cases: 1.96 sigma / sqrt(n) = 3 sigma / R, so n = (1.96 R / 3)**2."""
    loads = steps(100 * SIGMA, SIGMA, 2000, source())
    for number in (16, 63):
        ideal = mean_since(loads.counts, loads.changes, number)
        assert settled_after(ideal, loads, 3 * SIGMA / sqrt(number)) == pytest.approx((1.96 / 3) ** 2 * number, abs=2.5)


def test_usual_filters_do_as_their_theory_has_it(verdicts) -> None:
    """After a step of A: the moving mean of 63 is off by A (1 - n / 63), the exponential one by A (1 - 1 / 32)**n.

    With noise besides, 95 % are within 3 standard deviations once the mean of all is within 3 - 1.645 of them.
    """
    size, left = 1000, 1 / sqrt(63)  # sigma
    assert verdicts["moving mean"].to_noise["step of 1000 sigma"].readings == 63
    exponential = log((3 - 1.645) * left / size) / log(1 - 1 / 32)
    assert verdicts["exponential mean"].to_noise["step of 1000 sigma"].readings == pytest.approx(exponential, abs=8)
    assert verdicts["moving mean"].spike == pytest.approx(1 / 63, rel=1e-3)
    assert verdicts["exponential mean"].spike == pytest.approx(1 / 32, rel=1e-3)
    assert verdicts["running median"].spike < 1e-3
    assert (verdicts["none"].noise_reduction, verdicts["none"].spike) == (1.0, 1.0)


def test_a_filter_that_stands_still_is_at_rest_and_false() -> None:
    still = Filter("still", lambda counts: np.full(len(counts), float(counts[0])))
    loads = steps(1000 * SIGMA, SIGMA, 9, source())
    verdict = judge(still, {"step": loads}, loads, HALF_DIVISION)
    assert verdict.at_rest > 0.99
    assert verdict.false_at_rest == pytest.approx(0.5, abs=0.01)
    assert verdict.to_division["step"].readings is None and verdict.to_division["step"].ratio is None


# The device's filter


def test_the_device_is_as_quiet_as_theory_has_it(verdicts) -> None:
    assert verdicts["device"].noise_reduction == pytest.approx(sqrt(63), rel=0.03)


@pytest.mark.parametrize("case", CLEAR_CASES)
def test_the_device_settles_within_1_25_of_what_is_possible(verdicts, case) -> None:
    """The goal; 150 loads tell settling to some 10 %."""
    assert verdicts["device"].to_noise[case].ratio <= 1.25


@pytest.mark.parametrize("case", CASES)
def test_the_device_settles_before_any_filter_of_fixed_weights_as_quiet_as_it_is(verdicts, case) -> None:
    """Which takes R**2 readings: nothing can tell a step of 1 sigma from noise at once, yet it is settled by then."""
    assert verdicts["device"].to_noise[case].readings <= verdicts["device"].fixed_weights + 3


@pytest.mark.parametrize("name", ["moving mean", "exponential mean", "running median"])
def test_no_usual_filter_beats_the_device_where_it_is_as_quiet(verdicts, name) -> None:
    device, usual = verdicts["device"], verdicts[name]
    for case in CLEAR_CASES:
        assert device.to_noise[case].readings < usual.to_noise[case].readings
        assert device.to_division[case].readings <= usual.to_division[case].readings
    assert device.false_at_rest < usual.false_at_rest / 10
    assert device.at_rest >= usual.at_rest


def test_false_rest_is_rare_and_with_a_coarser_division_rarer(verdicts, loads) -> None:
    """One reading at rest in 500 is more than half a division off where that is 2 sigma, none where it is 10 sigma."""
    assert verdicts["device"].false_at_rest < 0.002
    coarse = judge(filters(32)[0], *loads, 10 * SIGMA)
    assert coarse.false_at_rest == 0.0 and coarse.at_rest > 0.85


def test_a_spike_does_not_move_the_device(verdicts) -> None:
    assert verdicts["device"].spike < 1e-3


# The cases


@pytest.mark.parametrize("make", [partial(steps, 500), partial(pours, 500), weighings])
def test_counts_are_the_level_with_the_noise_asked_for(make) -> None:
    loads = make(5, 20, source())
    again = make(5, 20, source())
    assert (loads.counts == again.counts).all()
    assert len(loads.changes) == len(loads.ends) == 20
    for first, end in loads.dwells():
        assert end - first == 600 and np.ptp(loads.level[first:end]) == 0
        assert loads.level[first - 1] != loads.level[first]
    noise = np.sort(loads.counts - loads.level)[50:-50]  # without spikes
    assert noise.std() == pytest.approx(5, rel=0.1)


def test_the_loads_of_a_recording(tmp_path) -> None:
    file = tmp_path / "r.csv"
    rows = [(1000, 0)] * 20 + [(5000, 10)] * 30 + [(3000, 5)] * 40 + [("", 5)]
    file.write_text(
        "time_s,counts,temperature_c,load_g\n" + "".join(f"{k},{c},,{g}\n" for k, (c, g) in enumerate(rows))
    )
    loads = recorded(str(file))
    assert loads.dwells() == [(20, 50), (50, 90)]
    assert loads.level.tolist() == [1000] * 20 + [5000] * 30 + [3000] * 40
    assert isinstance(loads, Loads) and moving_mean(loads.counts, 1).tolist() == loads.level.tolist()


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        ([(1, "")] * 100, "empty cells found"),
        ([(1, 0)] * 100, "two loads or more"),
        ([(1, 0)] * 15 + [(2, 1)] * 100, "for 16 readings or more"),
        ([("", 0)] * 100, "two loads or more"),
    ],
)
def test_a_recording_that_tells_no_settling_is_refused(tmp_path, rows, reason) -> None:
    file = tmp_path / "r.csv"
    file.write_text(
        "time_s,counts,temperature_c,load_g\n" + "".join(f"{k},{c},,{g}\n" for k, (c, g) in enumerate(rows))
    )
    with pytest.raises(InputError, match=reason):
        recorded(str(file))
