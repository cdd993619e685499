"""The tails of Student's t, against scipy and printed tables."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import fdtrc, stdtr

from scalewright.analysis.student_t import chance, two_sided_tail


@given(t=st.floats(0.01, 1e6) | st.floats(-1e6, -0.01), freedom=st.integers(1, 200))  # scipy is rough near 0
def test_scipy_finds_the_same_tail(t, freedom):
    assert two_sided_tail(t, freedom) == pytest.approx(2 * stdtr(freedom, -abs(t)), abs=2e-14)
    assert two_sided_tail(t, freedom) == pytest.approx(fdtrc(1, freedom, t * t), abs=2e-14)


@pytest.mark.parametrize(("freedom", "t95"), [(1, 12.71), (4, 2.78), (9, 2.26), (10, 2.23), (50, 2.01)])
def test_the_factors_of_the_gum(freedom, t95):
    """JCGM 100:2008, table G.2: t for 95 %, printed to two decimals."""
    assert two_sided_tail(t95 + 0.005, freedom) < 0.05 < two_sided_tail(t95 - 0.005, freedom)


def test_near_zero_the_tail_falls_by_twice_the_density():
    """Of Cauchy's distribution, which t with 1 degree of freedom is: the density at 0 is 1 / pi."""
    assert 1 - two_sided_tail(1e-9, 1) == pytest.approx(2e-9 / math.pi, rel=1e-6)


def test_the_ends_are_exact():
    assert two_sided_tail(0, 7) == 1
    assert two_sided_tail(math.inf, 7) == 0


def test_chances_read_as_words():
    assert (chance(0.05), chance(0.003), chance(0)) == ("about 1 in 20", "about 1 in 333", "less than 1 in 10000")
