"""The cell against the equations that it states, and its defaults against OIML R 60-1:2021, class C3."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from virtual_scale.load_cell import Hysteresis, LoadCell

PERFECT = {
    "zero_balance_mv_per_v": 0.0,
    "nonlinearity_quadratic": 0.0,
    "nonlinearity_cubic": 0.0,
    "hysteresis": 0.0,
    "creep": (),
    "zero_per_c": 0.0,
    "span_per_c": 0.0,
    "corner_x_per_mm": 0.0,
    "corner_y_per_mm": 0.0,
    "side_force_x": 0.0,
    "side_force_y": 0.0,
}
LOADS_G = st.floats(0, 5000)
INTERVALS = 3000  # n of class C3


def output_g(cell, time_s=0.0, temperature_c=20.0):
    """The output as grams of a perfect cell of 5 kg and 2 mV/V."""
    return (cell.output_mv_per_v(time_s, temperature_c) - cell.zero_balance_mv_per_v) * 2500


@given(LOADS_G)
def test_a_perfect_cell_gives_its_rated_output_in_proportion(load_g):
    cell = LoadCell(**PERFECT)
    cell.place(load_g, 0.0, x_mm=100.0, y_mm=-100.0)
    assert cell.output_mv_per_v(1e4, 35.0) == pytest.approx(load_g * 2 / 5000)


def test_an_empty_cell_gives_its_zero_balance():
    assert LoadCell().output_mv_per_v(0.0, 20.0) == 0.02


@pytest.mark.parametrize(
    ("name", "at"), [("nonlinearity_quadratic", 0.5), ("nonlinearity_cubic", (3 - math.sqrt(3)) / 6)]
)
def test_nonlinearity_is_what_it_says_at_its_greatest(name, at):
    """s (1 - s) has its maximum at 1/2, s (1 - s) (1 - 2 s) at (3 - sqrt 3) / 6: set the derivatives to 0."""
    cell = LoadCell(**{**PERFECT, name: 0.001})
    deviations = []
    for k in range(1001):
        cell.place(5 * k, 0.0)
        deviations.append(output_g(cell) - 5 * k)
    assert deviations[0] == deviations[1000] == pytest.approx(0, abs=1e-9)
    assert max(deviations) == pytest.approx(5.0, rel=1e-5)  # 0.001 of 5000 g
    assert deviations.index(max(deviations)) == pytest.approx(1000 * at, abs=1)


def test_hysteresis_is_as_wide_as_it_says_and_closes():
    cell = LoadCell(**{**PERFECT, "hysteresis": 0.001})
    cell.place(2500, 0.0)
    rising = output_g(cell)
    cell.place(5000, 0.0)
    cell.place(2500, 0.0)
    assert output_g(cell) - rising == pytest.approx(5.0)  # more on the way down
    cell.place(0, 0.0)
    assert output_g(cell) == pytest.approx(0, abs=1e-9)


@given(st.floats(-500, 6000), st.floats(-500, 6000))
def test_a_branch_follows_rayleighs_law(first_g, second_g):
    """The change since the last reversal goes with the square of the distance."""
    hysteresis = Hysteresis()
    assert hysteresis.move_to(first_g) == pytest.approx(first_g * abs(first_g))
    if first_g * (second_g - first_g) < 0 <= first_g * second_g:  # back, and not past the start
        distance_g = second_g - first_g
        expected = first_g * abs(first_g) + distance_g * abs(distance_g)
        assert hysteresis.move_to(second_g) == pytest.approx(expected, abs=1e-6)


@given(st.lists(LOADS_G, max_size=30))
def test_inner_loops_are_forgotten(wandering_g):
    """Return-point memory: whatever happened below 5 kg, at 5 kg and back at 0 nothing is left of it."""
    hysteresis = Hysteresis()
    for load_g in wandering_g:
        hysteresis.move_to(load_g)
    assert hysteresis.move_to(5000.0) == pytest.approx(25e6)
    assert hysteresis.move_to(0.0) == pytest.approx(0, abs=1e-3)


@given(LOADS_G, LOADS_G)
def test_a_load_that_stays_changes_nothing(first_g, second_g):
    hysteresis = Hysteresis()
    hysteresis.move_to(first_g)
    deviation_g = hysteresis.move_to(second_g)
    assert hysteresis.move_to(second_g) == deviation_g


@given(st.lists(st.floats(0.01, 500), max_size=10))
def test_creep_nears_its_part_of_the_load_and_goes_back_however_often_it_is_read(times_s):
    cell = LoadCell(**{**PERFECT, "creep": ((0.001, 60.0), (0.002, 600.0))})
    cell.place(5000, 100.0)
    for time_s in sorted(times_s):
        cell.output_mv_per_v(100 + time_s, 20.0)
    crept_g = 5 * (1 - math.exp(-10)) + 10 * (1 - math.exp(-1))
    assert output_g(cell, 700.0) - 5000 == pytest.approx(crept_g)
    cell.place(0, 700.0)
    left_g = 5 * (1 - math.exp(-10)) * math.exp(-1) + 10 * (1 - math.exp(-1)) * math.exp(-0.1)
    assert output_g(cell, 760.0) == pytest.approx(left_g)


def test_temperature_moves_zero_and_span():
    cell = LoadCell(**{**PERFECT, "zero_per_c": 1e-5, "span_per_c": 2e-5})
    assert output_g(cell, temperature_c=30.0) == pytest.approx(5000 * 1e-4)
    cell.place(4000, 0.0)
    assert output_g(cell, temperature_c=10.0) == pytest.approx(4000 * (1 - 2e-4) - 5000 * 1e-4)


def test_corners_change_the_reading_in_proportion():
    cell = LoadCell(**{**PERFECT, "corner_x_per_mm": 1e-6, "corner_y_per_mm": -2e-6})
    cell.place(1000, 0.0, x_mm=100.0, y_mm=50.0)
    assert output_g(cell) == pytest.approx(1000.0)
    cell.place(1000, 0.0, x_mm=-100.0, y_mm=50.0)
    assert output_g(cell) == pytest.approx(1000 * (1 - 2e-4))


def test_one_bad_corner_of_four_is_felt_as_statics_says():
    """Cells under the corners of a rigid pan each carry (1 +- x/X)(1 +- y/Y) / 4 of a load: the symmetric solution of
    the three equations of equilibrium. One of them gives 1 % too much; what it does to the middle is adjusted away."""
    half_mm, error = 150.0, 0.01
    terms = {"corner_x_per_mm": error / 4 / half_mm, "corner_y_per_mm": error / 4 / half_mm}
    cell = LoadCell(**{**PERFECT, **terms, "corner_xy_per_mm2": error / 4 / half_mm**2})
    for x_mm, y_mm in ((0, 0), (75, 75), (-75, 75), (150, -150), (150, 150), (20, -130)):
        share_of_the_bad_one = (1 + x_mm / half_mm) * (1 + y_mm / half_mm) / 4
        cell.place(1000, 0.0, x_mm, y_mm)
        assert output_g(cell) == pytest.approx(1000 * (1 + error * (share_of_the_bad_one - 1 / 4)))


@given(st.floats(-200, 200), st.floats(-200, 200), LOADS_G)
def test_out_of_level_load_and_pan_weigh_by_the_cosine(x_per_mille, y_per_mille, load_g):
    """Of a weight the part along the normal of the pan is felt: cos(arctan(slope))."""
    cell = LoadCell(**PERFECT, dead_load_g=500.0)
    cell.place(load_g, 0.0)
    cell.tilt(x_per_mille, y_per_mille, 0.0)
    lost = 1 - math.cos(math.atan(math.hypot(x_per_mille, y_per_mille) / 1000))
    assert output_g(cell) == pytest.approx(load_g - (load_g + 500) * lost, abs=1e-6)
    cell.tilt(0.0, 0.0, 0.0)
    assert output_g(cell) == pytest.approx(load_g)


def test_a_side_force_reads_as_load_by_its_share_and_direction():
    cell = LoadCell(**{**PERFECT, "side_force_x": 0.01, "dead_load_g": 500.0})
    cell.place(1500, 0.0)
    outputs_g = []
    for slope in (50.0, -50.0):
        cell.tilt(slope, 0.0, 0.0)
        outputs_g.append(output_g(cell))
    assert outputs_g[0] - outputs_g[1] == pytest.approx(2 * 2000 * 0.01 * math.sin(math.atan(0.05)))


def test_the_default_cell_shows_what_the_tilt_test_looks_for():
    """OIML R 76-1:2006 3.9.1, from memory: at 50/1000 no more than 2 e at no load, the error limits with load.

    A scale of Max 3 kg, e = 1 g without compensation keeps the former and misses the latter (table 6: 1.5 e)."""
    cell = LoadCell()
    cell.tilt(50.0, 0.0, 0.0)
    assert 0.1 < abs(output_g(cell)) <= 2
    cell = LoadCell()
    cell.place(3000, 0.0)
    level_g = output_g(cell)
    cell.tilt(50.0, 0.0, 0.0)
    assert level_g - output_g(cell) > 1.5


def test_a_load_up_to_the_safe_load_limit_leaves_nothing_and_one_above_moves_the_zero_for_good():
    """OIML R 60-1, "safe load limit": the greatest load without a permanent shift of the performance."""
    cell = LoadCell(**PERFECT, safe_load=1.5, overload_set=0.01)
    for load_g, left_g in ((7500, 0.0), (8000, 5.0), (7900, 5.0), (6000, 5.0), (8500, 10.0)):
        cell.place(load_g, 0.0)
        assert output_g(cell) == pytest.approx(load_g + left_g)
        cell.place(0, 0.0)
        assert output_g(cell, 1e7) == pytest.approx(left_g, abs=1e-9)


def test_a_platform_that_rings_follows_the_equation_of_a_damped_spring():
    """Twice struck; x'' + 2 x' / T + (w**2 + 1 / T**2) x = 0 between, solved by scipy."""
    hz, decay_s = 6.0, 0.4
    cell = LoadCell(**PERFECT, ring_share=0.2, ring_hz=hz, ring_decay_s=decay_s)
    stiffness = (2 * math.pi * hz) ** 2 + decay_s**-2

    def motion(_, state):
        return [state[1], -2 / decay_s * state[1] - stiffness * state[0]]

    def struck(state, step_g):  # at the top of a swing its envelope falls all the same
        return [state[0] - 0.2 * step_g, state[1] + 0.2 * step_g / decay_s]

    state, time_s = [0.0, 0.0], 0.0
    for load_g, step_g, for_s in ((1000, 1000, 0.33), (700, -300, 0.21)):
        cell.place(load_g, time_s)
        solved = solve_ivp(motion, (0, for_s), struck(state, step_g), rtol=1e-10, atol=1e-10)
        state = [row[-1] for row in solved.y]
        time_s += for_s
        assert output_g(cell, time_s) - load_g == pytest.approx(state[0], abs=1e-5)
    assert output_g(cell, 60.0) == pytest.approx(700)


def test_a_force_on_the_platform_is_felt_and_leaves_no_trace():
    cell = LoadCell(**{**PERFECT, "creep": ((0.001, 60.0),)})
    assert cell.output_mv_per_v(100.0, 20.0, shaking_g=3.0) * 2500 == pytest.approx(3.0)
    assert output_g(cell, 100.0) == 0.0


def test_a_parameter_that_changes_acts_from_then_on():
    cell = LoadCell(**{**PERFECT, "creep": ((0.001, 60.0),)})
    cell.place(1000, 0.0, x_mm=100.0)
    cell.change(1e5, {"corner_x_per_mm": 1e-4})
    assert output_g(cell, 1e5) == pytest.approx(1001 + 1010 - 1000)
    cell.change(1e5, {"hysteresis": 0.001, "capacity_g": 2500.0})
    assert output_g(cell, 1e5) == pytest.approx(2 * (1011 + 0.001 * 2 * 1010**2 / 2500), rel=1e-9)


@pytest.mark.parametrize("parameters", [{"colour": 1.0}, {"creep": 0.0}, {"place": 1.0}])
def test_a_parameter_that_does_not_exist_is_refused(parameters):
    with pytest.raises(ValueError, match="a load cell has no parameter"):
        LoadCell(**parameters)


def r60_errors(temperature_c=20.0):
    """Errors in intervals v, rising and falling, by OIML R 60-2:2021 2.8.2 and R 60-3:2021 2.1.2.

    The reference line goes through the output at D_min = 0 and at 75 % of the range, rising, at 20 C. Each load stands
    for 10 s, the loading and settling time of class C up to 10 kg (R 60-2 table 1).
    """
    loads = list(range(0, INTERVALS + 1, 250))

    def run(temperature_c):
        cell = LoadCell()
        outputs = []
        for k, v in enumerate(loads + loads[-2::-1]):
            cell.place(v * 5000 / INTERVALS, 20.0 * k)
            outputs.append(cell.output_mv_per_v(20.0 * k + 10.0, temperature_c))
        return outputs

    line = run(20.0)
    per_v = (line[loads.index(2250)] - line[0]) / 2250
    outputs = run(temperature_c)
    return [(v, (out - outputs[0]) / per_v - v) for v, out in zip(loads + loads[-2::-1], outputs, strict=True)]


@pytest.mark.parametrize("temperature_c", [20.0, 40.0, -10.0])
def test_the_default_cell_keeps_the_error_limits_of_class_c3(temperature_c):
    """R 60-1 table 4: 0.35, 0.7, 1.05 v up to 500, 2000, 10 000 v with p_LC = 0.7; 5.6.1: -10 to 40 C."""
    for v, error in r60_errors(temperature_c):
        assert abs(error) <= 0.7 * (0.5 if v <= 500 else 1.0 if v <= 2000 else 1.5)


def test_the_default_cell_keeps_the_creep_limits_of_class_c3():
    """R 60-1 5.5.1: 0.735 v in 30 min, 0.1575 v from 20 to 30 min; 5.5.2: 0.5 v at minimum dead load return."""
    v_g = 5000 / INTERVALS
    cell = LoadCell()
    cell.place(5000, 0.0)
    at_10_s, at_20_min, at_30_min = (output_g(cell, time_s) for time_s in (10.0, 1200.0, 1800.0))
    assert 0 < at_30_min - at_10_s <= 0.735 * v_g
    assert at_30_min - at_20_min <= 0.1575 * v_g
    cell.place(0, 1800.0)
    assert 0 < output_g(cell, 1810.0) <= 0.5 * v_g


def test_the_default_cell_keeps_the_zero_limit_of_class_c3():
    """R 60-1 5.6.1.3: p_LC v_min in 5 C; v_min = capacity / 10 000 is typical, from memory."""
    assert output_g(LoadCell(), temperature_c=25.0) <= 0.7 * 5000 / 10_000
