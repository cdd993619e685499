"""From a soak to the device's compensation, and drift in grams against OIML R 76."""

from fractions import Fraction

import pytest

from scalewright.analysis.drift import fit_drift
from scalewright.analysis.temperature import compensated, compensation_for, effects_in_grams
from scalewright.errors import InputError
from scalewright.tolerances import AccuracyClass
from tests.host.analysis.soaks import CAPACITY_COUNTS, soak, through_the_range

G_PER_COUNT = 5000 / CAPACITY_COUNTS
BAD_CELL = {"zero_per_c": 1e-4, "span_per_c": -3e-4}  # an uncompensated one
PLAN = through_the_range([20, 10, 30, 40, 20], 3000.0)


def test_a_compensation_takes_the_drift_out_of_the_next_soak() -> None:
    """Estimated from one soak, applied as integers to another in another order: the drift falls at least 100 times."""
    first = soak(PLAN, seed=1, zero_c2=0.3, **BAD_CELL)
    again = soak(through_the_range([20, 40, 25, 10, 20], 3000.0), seed=2, zero_c2=0.3, **BAD_CELL)
    compensation = compensation_for(fit_drift(first, reference_c=20.0))
    assert compensation.fields[:3] == (320, 10, 41)
    before = effects_in_grams(fit_drift(again))
    after = effects_in_grams(fit_drift(compensated(again, compensation)))
    assert abs(before.zero_g_per_c().value) > 0.4
    assert abs(after.zero_g_per_c().value) < abs(before.zero_g_per_c().value) / 100
    assert abs(after.span_error_g(3000.0).value) < abs(before.span_error_g(3000.0).value) / 100


def test_the_fields_of_the_device_are_the_effects_in_its_units() -> None:
    """By hand: z1 * 64 C in 1/256 count, s1 * 64 C in 2**-32; s2 is span 2 less span 1 squared."""
    fit = fit_drift(soak(PLAN, **BAD_CELL), reference_c=25.0, degree=2)
    reference, low_c, high_c, zero_counts, z1, z2, s1, s2 = compensation_for(fit).fields
    value = {name: fit.quantity(name).value for name in ("level 0 g", "zero 1", "zero 2", "span 1", "span 2")}
    assert (reference, low_c, high_c, zero_counts) == (400, 10, 41, round(value["level 0 g"]))
    assert z1 == round(value["zero 1"] * 64 * 256) and z2 == round(value["zero 2"] * 4096 * 256)
    assert s1 == round(value["span 1"] * 2**38)
    assert s2 == round((value["span 2"] - value["span 1"] ** 2) * 2**44)
    assert z1 == pytest.approx(1e-4 * CAPACITY_COUNTS * 64 * 256, rel=1e-3)


def test_a_reference_outside_the_soak_widens_the_range_to_it() -> None:
    fit = fit_drift(soak(through_the_range([20, 30], 3000.0)), reference_c=15.5)
    assert compensation_for(fit).fields[:3] == (248, 15, 31)


def test_drift_in_grams_is_that_of_the_cell() -> None:
    effects = effects_in_grams(fit_drift(soak(PLAN)))
    assert effects.zero_g_per_c().value == pytest.approx(7e-6 * 5000, rel=0.01)
    assert effects.span_per_c().value == pytest.approx(5e-6, rel=0.02)
    assert effects.span_error_g(3000.0).value == pytest.approx(3000 * 5e-6 * 15.1, rel=0.03)  # 25.1 C to an end
    given = effects_in_grams(effects.fit, g_per_count=2 * G_PER_COUNT)
    assert given.zero_g_per_c().value == pytest.approx(2 * 0.035, rel=0.01)


@pytest.mark.parametrize(
    ("name", "e_g", "in_degrees"),
    [("III", Fraction(1), 5), ("I", Fraction(1, 5), 1)],  # OIML R 76-1:2006, 3.9.2.3 (from memory)
)
def test_the_zero_is_held_against_e_in_so_many_degrees(name, e_g, in_degrees) -> None:
    effects = effects_in_grams(fit_drift(soak(PLAN)))
    at_no_load, at_load = effects.checks(AccuracyClass(name, e_g))
    assert at_no_load.change_g == pytest.approx(0.035 * in_degrees, rel=0.01)
    assert at_no_load.limit.limit_g == e_g
    assert at_no_load.limit.source == f"OIML R 76-1:2006, 3.9.2.3, class {name}"
    assert at_load.what == "3000 g, error over the range"
    assert at_load.limit.limit_g == AccuracyClass(name, e_g).permissible_error_g(Fraction(3000))


def test_a_cell_that_drifts_too_much_fails_both() -> None:
    at_no_load, at_load = effects_in_grams(fit_drift(soak(PLAN, **BAD_CELL))).checks(AccuracyClass("III", Fraction(1)))
    assert not at_no_load.passes and not at_load.passes
    assert at_no_load.change_g == pytest.approx(5 * 1e-4 * 5000, rel=0.01)
    assert at_load.change_g == pytest.approx(-3000 * 3e-4 * 15.1, rel=0.03)


def test_what_needs_a_load_or_an_empty_scale_says_so() -> None:
    empty = fit_drift(soak([(0.0, 2700.0, air_c) for air_c in (20.0, 30.0)]))
    with pytest.raises(InputError, match="counts cannot be told in grams"):
        effects_in_grams(empty)
    loaded = fit_drift(soak([(load, 2700.0, air_c) for air_c in (20.0, 30.0) for load in (500.0, 3000.0)]))
    with pytest.raises(InputError, match="the empty scale was not recorded"):
        compensation_for(loaded)


def test_effects_too_large_for_the_device_are_refused() -> None:
    with pytest.raises(InputError, match="changes zero or span by too much"):
        compensation_for(fit_drift(soak(PLAN, span_per_c=2e-3)))
