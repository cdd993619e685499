"""What is filled in, as a plan for a scale that is registered and with masses that are."""

from dataclasses import replace
from decimal import Decimal

import pytest

from scalewright.composition import compose
from scalewright.equipment import MassSet, Piece
from scalewright.errors import InputError
from scalewright.link.scale import Scale
from scalewright.procedures.discrimination import DiscriminationTest
from scalewright.procedures.range_check import RangeCheck
from scalewright.terminal.chosen import Chosen
from scalewright.terminal.plans import TestForm
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord, decode
from tests.host.terminal.laboratory import BOX, PLOVER
from tests.host.terminal.scenes import two_point_calibrated


@pytest.fixture(scope="module")
def record() -> CoefficientRecord:
    """Of a scale with Max 3000 g and d = 1 g."""
    with Scale.open("virtual://plover?speed=0") as scale:
        two_point_calibrated(scale)
        record: CoefficientRecord = decode(scale.read_coefficients())
    return record


def test_every_load_of_a_test_is_of_pieces_and_is_kept_for_the_guards(record: CoefficientRecord) -> None:
    chosen = Chosen(masses=BOX)
    plan = TestForm(("range",), steps="6").test(record, chosen.make)
    (test,) = plan.as_found
    assert isinstance(test, RangeCheck)
    assert [load.pieces for load in test.loads[:4]] == [(), ("500",), ("1000",), ("1000", "500")]
    assert test.loads[1].u_load_g == Decimal("0.004")  # U / k of the certificate
    assert {load for load in test.loads if load.load_g} <= {*chosen.loads}
    assert compose(BOX, Decimal(3000)) in chosen.loads


def test_a_registered_scale_is_held_against_what_is_registered_of_it(record: CoefficientRecord) -> None:
    limits = AccuracyClass("II", PLOVER.limits.e_g) if isinstance(PLOVER.limits, AccuracyClass) else PLOVER.limits
    scale = replace(PLOVER, limits=limits, min_g=Decimal(50), pan="suspended")
    plan = TestForm(("eccentricity", "discrimination"), registered=scale).test(record)
    assert plan.held.limits == limits
    (test,) = plan.as_found  # what hangs below one point has no corners
    assert isinstance(test, DiscriminationTest)
    assert test.loads[0].load_g == Decimal(50)


def test_a_check_mass_at_max_may_weigh_a_little_more_than_its_nominal_value(record: CoefficientRecord) -> None:
    masses = MassSet("CHECK", (Piece("3000", Decimal(3000), Decimal("3000.007"), Decimal("0.02")),))
    plan = TestForm((), check_masses_g="3000").daily_check(record, Chosen(masses=masses).make)
    assert [(load.load_g, load.pieces) for load in plan.masses] == [(Decimal("3000.007"), ("3000",))]
    with pytest.raises(InputError, match="3001 g; expected at most Max"):
        TestForm((), check_masses_g="500, 3001").daily_check(record)
