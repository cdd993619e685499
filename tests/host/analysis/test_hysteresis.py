"""Two curves and the hysteresis between them; a load cell's errors as OIML R 60 has them."""

from decimal import Decimal
from fractions import Fraction

import numpy
import pytest

from scalewright.analysis.fit_points import fit_points
from scalewright.analysis.hysteresis import in_direction, load_cell_errors, two_curves
from scalewright.errors import InputError
from tests.host.analysis.runs import a_run

UP = [0, 250, 500, 750, 1000]
DOWN = [750, 500, 250, 0]
DIRECTIONS = ["up"] * 5 + ["down"] * 4


def bowed(height_counts=60):
    """Return a run of 15 counts a gram whose falling branch lies above by a parabola, 0 at both ends."""
    falling = [height_counts * 4 * load * (1000 - load) // 1000**2 for load in DOWN]
    counts = [1000 + 15 * load for load in UP] + [1000 + 15 * load + f for load, f in zip(DOWN, falling, strict=True)]
    return a_run(UP + DOWN, counts, DIRECTIONS)


def test_the_widest_difference_is_reported_in_grams_and_as_a_fraction_of_max():
    curves = two_curves(bowed(), 2, max_g=Decimal(1200))
    hysteresis = curves.hysteresis
    assert [(d.load_g, d.difference_g) for d in hysteresis.observed] == [(0, 0), (250, 3), (500, 4), (750, 3)]
    assert (hysteresis.widest.load_g, hysteresis.widest.difference_g) == (500, 4.0)  # 60 counts of 15 a gram
    assert hysteresis.fraction_of_max == pytest.approx(4 / 1200, rel=1e-15)
    assert two_curves(bowed(), 2).hysteresis.fraction_of_max == 4 / 1000


def test_the_gap_between_the_curves_is_found_where_it_is_widest_not_only_at_the_loads():
    run = bowed()
    falling = [load for load in DOWN if load != 500]
    counts = [int(p.counts) for p in run.points if p.direction == "up" or p.load_g != 500]
    gap = two_curves(a_run(UP + falling, counts, ["up"] * 5 + ["down"] * 3), 2).hysteresis.between_curves
    assert (gap.load_g, gap.difference_g) == (pytest.approx(500, rel=1e-9), pytest.approx(4, rel=1e-9))


@pytest.mark.parametrize("seed", range(5))
def test_no_place_has_a_wider_gap_than_the_one_reported(seed):
    random = numpy.random.default_rng(seed)
    counts = numpy.round(1000 + 15 * numpy.array(UP + DOWN) + random.normal(0, 20, 9), 1)
    curves = two_curves(a_run(UP + DOWN, counts, DIRECTIONS), 3, zero="free")
    grid = [Fraction(k) for k in range(751)]
    gaps = [float((curves.down.evaluate(x) - curves.up.evaluate(x)) / curves.up.slope(x)) for x in grid]
    assert max(map(abs, gaps)) <= abs(curves.hysteresis.between_curves.difference_g) * (1 + 1e-3)


def test_both_curves_go_through_the_one_observed_zero():
    curves = two_curves(bowed(), 1, zero="observed")
    assert curves.up.evaluate(0) == curves.down.evaluate(0) == 0


def test_the_error_of_oiml_r_60_at_e_max():
    """R 60-2:2021, 2.8.2 and R 60-3:2021, 2.1.2 (text read); the case is computed: 2250.9 at 75 %, 3002.4 at E_max."""
    run = a_run([0, 2250, 3000, 0], [0, 2250.9, 3002.4, 0], ["up", "up", "up", "down"])
    errors = {(load, direction): error for load, direction, error in load_cell_errors(run, 3000)}
    assert round(float(errors[3000, "up"]), 4) == 1.1995
    assert errors[0, "up"] == errors[2250, "up"] == errors[0, "down"] == 0


def test_the_error_of_a_load_cell_counts_from_d_min_in_verification_intervals():
    loads = [100, 1000, 1900, 1000]
    errors = load_cell_errors(a_run(loads, [5 + 2 * load for load in loads[:3]] + [2009], ["up"] * 3 + ["down"]), 1800)
    assert errors == [(100, "up", 0), (1000, "up", 0), (1900, "up", 0), (1000, "down", 2)]  # 4 counts of 2 a gram


def test_a_run_in_one_direction_or_without_a_common_load_is_refused():
    with pytest.raises(InputError, match=r"run\.csv, column direction: no point is marked 'down'"):
        two_curves(a_run(UP, UP, ["up"] * 5), 1)
    with pytest.raises(InputError, match="both upwards and downwards"):
        two_curves(a_run([0, 1, 2, 3], [0, 1, 2, 3], ["up", "up", "down", "down"]), 1)


def test_the_points_of_a_direction_keep_their_lines():
    part = in_direction(fit_points(bowed()), "down")
    assert part.observations.lines == (13, 14, 15, 16)
    assert part.x == tuple(DOWN)
