"""Substitution loads: values and growing uncertainty, against the guide's formulas and an uncertainty library."""

from fractions import Fraction

import numpy
import pytest

from scalewright.analysis.substitution import Substitution, build_up
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library

# A bench of our own: one 20 kg reference mass, ballast trimmed by hand.
REFERENCE_G, U_REFERENCE_G = Fraction("20000.3"), 0.05
STEPS = [
    Substitution(Fraction("20001.0"), Fraction("20014.0"), 0.6),
    Substitution(Fraction("40016.5"), Fraction("40009.5"), 0.7),
    Substitution(Fraction("60012.0"), Fraction("60030.0"), 0.8),
]


def test_the_guides_formulas():
    """EURAMET cg-18, version 4.0, 7.1.2.6 (from memory): L_n = n m + sum dI, u2 = n2 u2(m) + 2 sum u2(I)."""
    loads = build_up(REFERENCE_G, U_REFERENCE_G, STEPS)
    assert loads.loads_g == (
        Fraction("20000.3"),
        Fraction("40013.6"),  # 2 m + 13
        Fraction("60006.9"),  # 3 m + 13 - 7
        Fraction("80025.2"),  # 4 m + 13 - 7 + 18
    )
    u2 = [
        0.05**2,
        4 * 0.05**2 + 2 * 0.6**2,
        9 * 0.05**2 + 2 * (0.6**2 + 0.7**2),
        16 * 0.05**2 + 2 * (0.6**2 + 0.7**2 + 0.8**2),
    ]
    assert loads.u_loads_g == pytest.approx(numpy.sqrt(u2), rel=1e-12)


def test_gtc_builds_the_same_loads_with_the_same_covariance():
    gtc = library("GTC")
    mass = gtc.ureal(float(REFERENCE_G), U_REFERENCE_G)
    built = [mass]
    for step in STEPS:
        with_mass, with_ballast = (
            gtc.ureal(float(value), step.u_indication_g) for value in (step.with_mass_g, step.with_ballast_g)
        )
        built.append(built[-1] + (with_ballast - with_mass) + mass)
    loads = build_up(REFERENCE_G, U_REFERENCE_G, STEPS)
    assert [float(load) for load in loads.loads_g] == pytest.approx([gtc.value(load) for load in built], rel=1e-14)
    expected = [[gtc.variance(a) if a is b else gtc.get_covariance(a, b) for b in built] for a in built]
    assert loads.covariance_g2 == pytest.approx(numpy.array(expected), rel=1e-12)


def test_uncertainty_never_shrinks_as_the_load_grows():
    u = build_up(REFERENCE_G, U_REFERENCE_G, STEPS).u_loads_g
    assert all(numpy.diff(u) > 0)


def test_ballast_that_is_far_off_is_refused():
    with pytest.raises(InputError, match=r"substitution 2: ballast differs by 300 g from 20000\.3 g"):
        build_up(REFERENCE_G, U_REFERENCE_G, [STEPS[0], Substitution(Fraction(40000), Fraction(40300), 0.5)])


def test_without_a_substitution_the_reference_mass_is_the_only_load():
    alone = build_up(REFERENCE_G, U_REFERENCE_G, [])
    assert (alone.loads_g, list(alone.u_loads_g)) == ((REFERENCE_G,), [U_REFERENCE_G])
