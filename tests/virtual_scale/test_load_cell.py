"""The cell against the equations that it states, and its defaults against OIML R 60-1:2021, class C3."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
    hysteresis = Hysteresis(1e-6)
    assert hysteresis.move_to(first_g) == pytest.approx(1e-6 * first_g * abs(first_g))
    if first_g * (second_g - first_g) < 0 <= first_g * second_g:  # back, and not past the start
        distance_g = second_g - first_g
        expected = 1e-6 * (first_g * abs(first_g) + distance_g * abs(distance_g))
        assert hysteresis.move_to(second_g) == pytest.approx(expected, abs=1e-12)


@given(st.lists(LOADS_G, max_size=30))
def test_inner_loops_are_forgotten(wandering_g):
    """Return-point memory: whatever happened below 5 kg, at 5 kg and back at 0 nothing is left of it."""
    hysteresis = Hysteresis(1e-6)
    for load_g in wandering_g:
        hysteresis.move_to(load_g)
    assert hysteresis.move_to(5000.0) == pytest.approx(25.0)
    assert hysteresis.move_to(0.0) == pytest.approx(0, abs=1e-9)


@given(LOADS_G, LOADS_G)
def test_a_load_that_stays_changes_nothing(first_g, second_g):
    hysteresis = Hysteresis(1e-6)
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
