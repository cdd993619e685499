"""Sets of tests, and the loads they are made of."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from scalewright.errors import InputError
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.eccentricity import EccentricityTest
from scalewright.procedures.requests import Load
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.substitution import SubstitutionTest
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
    assert {name for names in SETS.values() for name in names} | {"changeover", "substitution"} == set(TESTS)


def test_the_eccentric_load_may_be_the_local_habit() -> None:
    half = replace(to_verify(), off_centre_g=Decimal(1500))
    loads = [chosen(("eccentricity",), each)[0].load.load_g for each in (to_verify(), half)]
    assert loads == [1000, 1500]  # OIML R 76-1:2006, 3.6.2.1 (from memory): Max/3; half of Max: common practice


def test_reference_masses_of_a_third_of_max_go_on_three_times() -> None:
    (test,) = chosen(("substitution",), replace(to_verify(), reference_g=Decimal(1000)))
    assert test == SubstitutionTest(Load(Decimal(1000)), 3)
    with pytest.raises(InputError, match="how many grams of reference masses there are"):
        chosen(("substitution",), to_verify())


def test_the_tare_needs_no_reference_masses() -> None:
    (test,) = chosen(("tare",), replace(to_verify(), load=lambda nominal_g: Load(nominal_g, ("1000", "500"))))
    assert (test.tare.pieces, test.loads[0].pieces) == ((), ("1000", "500"))


def test_a_load_that_hangs_below_one_point_has_no_corners() -> None:
    tests = chosen(SETS["usual"], to_verify("suspended"))
    assert not any(isinstance(test, EccentricityTest) for test in tests)


def test_the_temperatures_are_those_of_the_standard() -> None:
    # OIML R 76-1:2006, A.5.3.1 with 3.9.2.1 (from memory): reference 20 °C, high, low, 5 °C, reference; -10 to 40 °C
    assert list(map(int, AIRS_C)) == [20, 40, -10, 5, 20]
