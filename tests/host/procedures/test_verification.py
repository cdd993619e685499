"""Sets of tests, and the loads they are made of."""

from decimal import Decimal
from fractions import Fraction

import pytest

from scalewright.errors import InputError
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.eccentricity import EccentricityTest
from scalewright.procedures.requests import Load
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.verification import AIRS_C, SETS, TESTS, ToVerify, chosen, names_of
from scalewright.tolerances import AccuracyClass
from tests.host.procedures.faulty_scale import run_of


def to_verify(pan: str = "rectangular") -> ToVerify:
    return ToVerify(Decimal(3000), Decimal(20), pan, 4, lambda nominal_g: Load(nominal_g))


@pytest.mark.parametrize("name", SETS)
def test_a_perfect_scale_passes_every_set(name: str) -> None:
    tests = chosen(names_of(name), to_verify())
    assert len(tests) == len(SETS[name])
    run = run_of(*tests)
    plan = Calibration(Held(AccuracyClass("III", Fraction(1))), as_found=tests)
    assert plan.passed(run.outcomes)
    assert [stage.title.partition(": ")[2] for stage in run.stages[1:]] == [test.title for test in tests]


def test_a_list_of_names_is_a_set_too() -> None:
    assert names_of("creep, range,creep") == ("creep", "range")
    with pytest.raises(InputError, match=r"test 'crep'; expected one of quick, usual, .*creep"):
        names_of("range,crep")


def test_every_test_is_in_a_set_or_named_by_itself() -> None:
    assert {name for names in SETS.values() for name in names} | {"changeover"} == set(TESTS)


def test_a_load_that_hangs_below_one_point_has_no_corners() -> None:
    tests = chosen(SETS["usual"], to_verify("suspended"))
    assert not any(isinstance(test, EccentricityTest) for test in tests)


def test_the_temperatures_are_those_of_the_standard() -> None:
    # OIML R 76-1:2006, A.5.3.1 with 3.9.2.1 (from memory): reference 20 °C, high, low, 5 °C, reference; -10 to 40 °C
    assert list(map(int, AIRS_C)) == [20, 40, -10, 5, 20]
