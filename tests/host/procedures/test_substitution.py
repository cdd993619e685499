"""Substitution loads: what is asked for, what the errors and their uncertainty are, what is refused."""

from decimal import Decimal
from fractions import Fraction
from math import sqrt

import pytest

from scalewright.errors import ProcedureError
from scalewright.procedures.instructions import instruction
from scalewright.procedures.requests import Load, PlaceLoad, Setting
from scalewright.procedures.substitution import SubstitutionTest, spread_limit_g
from scalewright.procedures.virtual_hand import VirtualHand
from tests.host.procedures.virtual_bench import carried_out, failing

KILOGRAM = Load(Decimal(1000), ("1000",), Decimal("0.01"))
THREE_TIMES = SubstitutionTest(KILOGRAM, 3)


class Heaped(VirtualHand):
    """Heaps the ballast up by 5 %."""

    def act(self, setting: Setting) -> None:
        if isinstance(setting, PlaceLoad) and setting.ballast_g and not setting.load_g:
            setting = PlaceLoad(setting.ballast_g * Decimal("1.05"))
        super().act(setting)


@pytest.mark.parametrize(
    ("percent", "spread_e"),
    # OIML R 76-1:2006, 3.7.3, from memory: 35 % of Max where the repeatability error is at most 0.3 e, 20 % at 0.2 e
    [(100, None), (50, None), (49, Fraction(3, 10)), (35, Fraction(3, 10)), (34, Fraction(1, 5)), (20, Fraction(1, 5))],
)
def test_the_fewer_reference_masses_the_better_they_must_repeat(percent: int, spread_e: Fraction | None) -> None:
    limit_g = spread_limit_g(Fraction(percent, 100), Fraction(5))
    assert limit_g == (None if spread_e is None else 5 * spread_e)


def test_masses_go_on_top_of_ballast_that_took_their_place() -> None:
    run = carried_out(THREE_TIMES)
    assert failing(run) == []
    placed = [request for request, _ in run.answered if isinstance(request, PlaceLoad)]
    assert [(bool(request.load_g), bool(request.ballast_g)) for request in placed[-5:]] == [
        (True, False), (False, True), (True, True), (False, True), (True, True),
    ]  # fmt: skip
    assert [instruction(request) for request in placed[-3:]] == [
        "put 1000 g (1000) on top of the ballast",
        f"take the masses off and put ballast on until the scale shows about {placed[-2].ballast_g} g",
        "put 1000 g (1000) on top of the ballast",
    ]


def test_the_test_loads_are_what_really_stood_there_and_as_uncertain_as_the_guide_says() -> None:
    # EURAMET cg-18 v4.0, 7.1.2.6 (from memory): u2(L_n) = n2 u2(m_ref) + 2 sum u2(I); n = 3
    run = carried_out(THREE_TIMES)
    found = run.result.as_found[0]
    last = found.steps[-1]
    assert last.u_load_g == pytest.approx(sqrt(9 * 0.01**2 + 2 * 2 * found.repeatability.s_g**2), rel=1e-9)
    # the virtual hand's ballast comes in grams: 1001 g for 1000 g, then 2002 g for 2001 g
    assert [float(step.load_g) for step in found.steps] == pytest.approx([1000, 2001, 3002], abs=0.2)


def test_a_wrong_piece_counts_as_often_as_it_went_on() -> None:
    run = carried_out(THREE_TIMES, "VIRTual:MASS 1000,-2.5")
    errors_g = [float(step.error_g) for step in run.result.as_found[0].steps]
    assert errors_g == pytest.approx([-2.5, -5, -7.5], abs=0.2)
    assert failing(run)[-3:] == [outcome.what for outcome in run.outcomes[-3:]]
    assert not any(what.startswith("spread") for what in failing(run))


def test_too_few_reference_masses_fail_whatever_they_show() -> None:
    run = carried_out(SubstitutionTest(Load(Decimal(500)), 2))  # 17 % of Max
    assert failing(run) == ["masses missing to 20 % of Max"]


def test_ballast_that_is_too_much_is_refused() -> None:
    with pytest.raises(ProcedureError, match="substitution 1: ballast differs by 49"):
        carried_out(THREE_TIMES, hand=Heaped)
