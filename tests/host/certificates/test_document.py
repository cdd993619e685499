"""Whether a scale conforms: each kind of result can spoil it, and none is enough by itself."""

from dataclasses import replace
from fractions import Fraction

import pytest

from scalewright.certificates import document
from scalewright.certificates.document import Finding
from tests.host.certificates.cases import KITCHEN

GOOD = KITCHEN.final
assert GOOD.eccentricity is not None
OFF = replace(GOOD.eccentricity.positions[2], indication_g=Fraction("1001.01"))  # limit 1 g at 1 kg


@pytest.mark.parametrize(
    "spoilt",
    [
        replace(GOOD, points=(*GOOD.points[:-1], replace(GOOD.points[-1], outcome="reject"))),
        replace(GOOD, points=(*GOOD.points[:-1], replace(GOOD.points[-1], outcome="conditional reject"))),
        replace(GOOD, repeatability=(replace(GOOD.repeatability[0], limit_g=Fraction(12, 100)),)),  # range 0.13 g
        replace(GOOD, eccentricity=replace(GOOD.eccentricity, positions=(*GOOD.eccentricity.positions[:2], OFF))),
        replace(GOOD, findings=(Finding("creep", Fraction(-51, 100), Fraction(1, 2), "g", ""),)),
    ],
)
def test_one_result_outside_its_limit_spoils_conformity(spoilt: document.Test) -> None:
    assert GOOD.conforms is True
    assert spoilt.conforms is False


def test_a_result_on_its_limit_and_a_conditional_acceptance_do_not() -> None:
    point = replace(GOOD.points[0], outcome="conditional accept")
    finding = Finding("creep", Fraction(-1, 2), Fraction(1, 2), "g", "")
    series = replace(GOOD.repeatability[0], limit_g=Fraction(13, 100))
    assert replace(GOOD, points=(point,), findings=(finding,), repeatability=(series,)).conforms is True


def test_without_any_limit_nothing_is_said() -> None:
    points = tuple(replace(point, limit_g=None, outcome="") for point in GOOD.points)
    assert document.Test("as left", points).conforms is None


def test_the_largest_error_counts_by_its_size() -> None:
    low = replace(GOOD.points[0], indication_g=GOOD.points[0].reference_g - 5)
    assert replace(GOOD, points=(*GOOD.points, low)).largest == low
