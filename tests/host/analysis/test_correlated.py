"""Loads made of shared masses: their covariance, and what it does to a fit."""

from decimal import Decimal

import numpy
import pytest

from scalewright.analysis.correlated import SetMass, combine
from scalewright.analysis.generalised_regression import generalised_regression
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library

# A set of our own invention: nominal masses as they are found in sets, uncertainties made up.
SET = {
    "100": SetMass(Decimal("100.0012"), Decimal("0.0010")),
    "200": SetMass(Decimal("199.9990"), Decimal("0.0020")),
    "200*": SetMass(Decimal("200.0031"), Decimal("0.0020")),
    "500": SetMass(Decimal("500.0004"), Decimal("0.0050")),
}
COMBINATIONS = [[], ["100"], ["200"], ["100", "200"], ["200", "200*"], ["500"], ["500", "200", "200*", "100"]]


@pytest.mark.parametrize("correlation", [0.0, 0.4, 1.0])
def test_gtc_propagates_the_masses_to_the_same_covariance(correlation):
    gtc = library("GTC")
    masses = gtc.multiple_ureal([float(m.mass_g) for m in SET.values()], [float(m.u_mass_g) for m in SET.values()], 1e9)
    named = dict(zip(SET, masses, strict=True))
    for k, a in enumerate(masses):
        for b in masses[k + 1 :]:
            gtc.set_correlation(correlation, a, b)
    sums = [sum((named[name] for name in names), gtc.ureal(0, 0)) for names in COMBINATIONS]
    combined = combine(SET, COMBINATIONS, correlation)
    assert [float(load) for load in combined.loads_g] == pytest.approx([float(gtc.value(s)) for s in sums], rel=1e-14)
    expected = [[gtc.get_covariance(a, b) if a is not b else gtc.variance(a) for b in sums] for a in sums]
    assert combined.covariance_g2 == pytest.approx(numpy.array(expected), rel=1e-9, abs=1e-18)


def test_masses_of_one_standard_add_their_uncertainties_arithmetically():
    """EURAMET cg-18, version 4.0, 7.1.2 (from memory): the default."""
    covariance = combine(SET, [["500", "200", "100"]]).covariance_g2
    assert covariance[0, 0] == pytest.approx((0.005 + 0.002 + 0.001) ** 2)


def test_loads_are_exact_sums():
    assert combine(SET, COMBINATIONS).loads_g[-1] == Decimal("1000.0037")
    assert combine(SET, COMBINATIONS).loads_g[0] == 0


def test_a_shared_mass_makes_the_span_less_sure_than_independent_loads_would_claim():
    combined = combine(SET, COMBINATIONS)
    loads = numpy.array(combined.loads_g, float)
    counts, cov_counts = 1000 + 1500 * loads, 4.0
    u_span = {
        name: generalised_regression(counts, loads, 1, cov_x=cov_counts, cov_y=covariance + 1e-12 * numpy.eye(7))
        .powers_of_x()[1][1, 1] ** 0.5 * 1500
        for name, covariance in (
            ("shared", combined.covariance_g2),
            ("independent", numpy.diag(numpy.diag(combined.covariance_g2))),
        )
    }  # fmt: skip
    # All masses are off in proportion where they hang on one standard; no number of loads averages that.
    assert u_span["shared"] > 1.5 * u_span["independent"]
    assert u_span["shared"] == pytest.approx(0.010 / 1000, rel=0.1)  # 5 mg of 500 g, 2 mg of 200 g: 1e-5


def test_a_name_that_is_not_in_the_set_and_an_impossible_correlation_are_refused():
    with pytest.raises(InputError, match=r"mass '50' is not in the set; expected one of 100, 200, 200\*, 500"):
        combine(SET, [["50"]])
    with pytest.raises(InputError, match=r"correlation 1\.5"):
        combine(SET, COMBINATIONS, 1.5)
