"""Creep tests of the virtual cell against its equations, and against the limits of OIML R 76 and R 60."""

from fractions import Fraction
from math import exp

import numpy as np
import pytest

from scalewright.analysis.creep import WINDOW_S, CreepTest, cell_checks, creep_test, scale_checks
from scalewright.analysis.grams import straight_scale
from scalewright.analysis.soak import Soak
from scalewright.errors import InputError
from scalewright.influence_limits import CellClass
from scalewright.tolerances import AccuracyClass
from tests.host.analysis.soaks import soak

STEADY = {"zero_per_c": 0.0, "span_per_c": 0.0}
PLAN = [(0.0, 60.0, 20.0), (5000.0, 1820.0, 20.0), (0.0, 120.0, 20.0)]
CREEP = ((4e-5, 15.0), (6e-5, 400.0))  # load_cell.py


def taken(plan=PLAN, step_s: float = 0.2, **cell) -> CreepTest:
    recording = soak(plan, step_s=step_s, **{**STEADY, **cell})
    return creep_test(recording, straight_scale(recording))


def crept_g(load_g: float, begins_s: float, ends_s: float) -> float:
    """The cell's creep between two moments, each the mean over a window."""

    def mean_at(start_s: float, share: float, constant_s: float) -> float:
        return share * (1 - constant_s / WINDOW_S * exp(-start_s / constant_s) * (1 - exp(-WINDOW_S / constant_s)))

    return load_g * sum(mean_at(ends_s, *term) - mean_at(begins_s, *term) for term in CREEP)


def test_creep_is_what_the_cell_did() -> None:
    test = taken()
    for found, begins_s, ends_s in (
        (test.change(0, 30), 10.0, 1800.0),
        (test.difference(15, 30), 900.0, 1800.0),
        (test.difference(20, 30), 1200.0, 1800.0),
    ):
        assert abs(found.value - crept_g(5000.0, begins_s, ends_s)) < 4 * found.u + 0.002
    assert test.u_g == pytest.approx(21.5 / np.sqrt(100) * 5000 / 4294967, rel=0.1)  # noise of 10 s at 10 SPS


def test_what_has_crept_is_missing_from_the_zero_after_it() -> None:
    back = taken().zero_return()
    assert back is not None
    expected = 5000 * sum(s * exp(-15 / t) * (1 - exp(-1820 / t)) for s, t in CREEP)
    assert back.value == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize(("e_g", "verdicts"), [("1", [True, True, True]), ("0.5", [False, True, False])])
def test_a_scale_is_held_against_r76(e_g, verdicts) -> None:
    """OIML R 76-1:2006, 3.9.4.1 and 3.9.4.2 (from memory): 0.5 e in 30 min, 0.2 e from 15 to 30 min, 0.5 e back."""
    e = Fraction(e_g)
    checks = scale_checks(taken(), AccuracyClass("III", e))
    assert [check.passes for check in checks] == verdicts
    assert [check.limit.limit_g for check in checks] == [e / 2, e / 5, e / 2]
    assert [check.limit.source.split(", ")[1] for check in checks] == ["3.9.4.1", "3.9.4.1", "3.9.4.2"]


def test_four_hours_within_the_permissible_error_make_up_for_it() -> None:
    """OIML R 76-1:2006, 3.9.4.1 (from memory): otherwise the change in 4 h is at most the absolute mpe."""
    long = [(0.0, 60.0, 20.0), (5000.0, 14_410.0, 20.0)]
    checks = scale_checks(taken(long, step_s=2.0), AccuracyClass("III", Fraction(1, 2)))
    assert [(check.what, check.passes, check.limit.limit_g) for check in checks] == [("creep in 4 h", True, 0.75)]


def test_a_cell_is_held_against_r60() -> None:
    """OIML R 60-1:2021, 5.5.1, C3 at E_max: 0.735 v and 0.1575 v; 5.5.2: 0.5 v; v = 5000 g / 3000."""
    checks = cell_checks(taken(), CellClass("C", Fraction(5000), 3000))
    assert [check.limit.limit_g for check in checks] == pytest.approx([v * 5000 / 3000 for v in (0.735, 0.1575, 0.5)])
    assert all(check.passes for check in checks)
    worse = cell_checks(taken(creep=((4e-4, 300.0),)), CellClass("C", Fraction(5000), 3000))
    assert [check.passes for check in worse] == [False, True, False]


def test_the_loads_that_were_not_recorded_are_left_out() -> None:
    loaded = taken([(500.0, 60.0, 20.0), (0.0, 60.0, 20.0), (3000.0, 1820.0, 20.0)])
    assert loaded.load_g == 3000 and loaded.zero_return() is None
    assert [check.what for check in scale_checks(loaded, AccuracyClass("III", Fraction(1)))] == [
        *("creep in 30 min", "creep from 15 to 30 min")
    ]


@pytest.mark.parametrize(
    ("plan", "reason"),
    [
        ([(0.0, 60.0, 20.0), (5000.0, 600.0, 20.0)], "stood for 30 min"),
        ([(5000.0, 1900.0, 20.0), (0.0, 60.0, 20.0)], "no load was put on during the recording"),
        ([(3000.0, 60.0, 20.0), (5000.0, 1900.0, 20.0)], "counts cannot be told in grams"),
    ],
)
def test_a_recording_without_a_test_says_what_is_missing(plan, reason) -> None:
    with pytest.raises(InputError, match=reason):
        taken(plan, step_s=1.0)


def test_a_gap_in_the_readings_is_no_reading() -> None:
    recording = soak(PLAN, step_s=0.2, **STEADY)
    kept = (recording.time_s < 500) | (recording.time_s > 600)
    columns = (recording.time_s, recording.counts, recording.temperature_c, recording.load_g)
    thinned = Soak(*(column[kept] for column in columns))
    test = creep_test(thinned, straight_scale(thinned))
    assert np.max(np.diff(test.minutes)) > 1.5
    assert test.change(0, 30).value == pytest.approx(taken().change(0, 30).value, abs=1e-6)
