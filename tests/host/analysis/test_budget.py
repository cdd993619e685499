"""Budgets against the examples of the GUM and of EA-4/02, its table of t factors, and two general libraries."""

import json
from math import erf, inf, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy import array, random

from scalewright.analysis.budget import (
    PROBABILITY,
    Budget,
    Component,
    coverage_factor,
    degrees_of_freedom_of,
    from_certificate,
    from_limits,
    from_readings,
)
from scalewright.errors import InputError
from tests.host.analysis.crosscheck import library
from tests.host.reference_tables import REFERENCE_DATA, rows

PUBLISHED = json.loads((REFERENCE_DATA / "gum_budgets.json").read_text(encoding="utf-8"))
PROBABILITIES = {
    "p68_27": erf(1 / sqrt(2)),
    "p90": 0.90,
    "p95": 0.95,
    "p95_45": erf(2 / sqrt(2)),
    "p99": 0.99,
    "p99_73": erf(3 / sqrt(2)),
}


@pytest.mark.parametrize("row", rows("gum_t_table.csv"), ids=lambda row: f"nu {row['nu']}")
def test_coverage_factors_are_those_of_the_standard(row):
    """JCGM 100:2008, table G.2: every entry to its last digit, but for the misprint at nu = 35, 90 %."""
    for column, probability in PROBABILITIES.items():
        printed = "1.69" if (row["nu"], column) == ("35", "p90") else row[column]
        half_a_digit = 0.5 * 10.0 ** -len(printed.partition(".")[2])
        assert coverage_factor(float(row["nu"]), probability) == pytest.approx(float(printed), abs=half_a_digit * 1.001)


def test_the_usual_coverage_factor_is_two():
    assert coverage_factor() == pytest.approx(2, abs=1e-12)
    assert pytest.approx(0.9545, abs=5e-6) == PROBABILITY


def test_the_weight_of_ten_kilograms():
    """EA-4/02, example S2 (inputs verified in part, see the file): u = 29.3 mg, U = 59 mg with k = 2."""
    s2 = PUBLISHED["ea402_s2_weight_10kg"]
    components = (
        from_certificate("standard", s2["U_mS_mg"], s2["k"]),
        from_limits("drift", s2["drift_half_mg"]),
        Component("difference", s2["s_pooled_mg"] / sqrt(s2["n"]), "A"),
        from_limits("comparator", s2["dmC_half_mg"]),
        from_limits("buoyancy", s2["dB_half_mg"]),
    )
    budget = Budget(0, components)
    recomputed = s2["recomputed"]
    assert [c.contribution for c in components] == pytest.approx(recomputed["contributions_mg"], rel=1e-5)
    assert budget.u == pytest.approx(recomputed["u_mg"], abs=5e-6)
    assert budget.expanded_u == pytest.approx(recomputed["U_k2_mg"], abs=5e-5)
    assert (round(budget.u, 1), round(budget.expanded_u)) == (s2["published"]["u_mg"], s2["published"]["U_mg"])


def test_readings_that_differ_in_the_last_digits_only():
    """JCGM GUM-6:2020, 8.6: s = 0.267 ug of readings near 1000 g, where a sum of squares fails by four decades."""
    example = PUBLISHED["gum6_variance_cancellation"]
    readings = [float(text) for text in example["values_g"]]
    component = from_readings("readings", readings)
    assert component.u * sqrt(7) == pytest.approx(example["recomputed"]["s_g"], rel=1e-6)
    assert component.degrees_of_freedom == 6
    assert component.estimate == pytest.approx(float(example["recomputed"]["mean"]), abs=2e-13)
    assert from_readings("one reading", readings, averaged=1).u == pytest.approx(component.u * sqrt(7))
    with pytest.raises(InputError, match="1 readings show no scatter"):
        from_readings("readings", readings[:1])


def test_limits_by_their_distribution():
    """JCGM 100:2008, 4.3.7 and 4.3.9; a digital step of 1 has u = 0.29 (F.2.2.1)."""
    assert from_limits("step", 0.5).u == pytest.approx(0.288675, abs=5e-7)
    assert from_limits("limits", 1, "triangular").u == pytest.approx(0.408248, abs=5e-7)
    assert from_limits("limits", 1, "arcsine").u == pytest.approx(0.707107, abs=5e-7)


@pytest.mark.parametrize(("share", "freedom"), [(0.25, 8), (0.10, 50), (0.50, 2)])
def test_degrees_of_freedom_of_an_uncertainty_known_in_part(share, freedom):
    """JCGM 100:2008, G.4.2 and its table."""
    assert degrees_of_freedom_of(share) == pytest.approx(freedom)


def test_welch_and_satterthwaite_at_the_edges():
    for k in range(1, 100):  # some of these come out a little below 13, and must not be cut to 12
        freedom = Budget(0, (Component("a", k / 7, "A", "t", 13),)).degrees_of_freedom
        assert coverage_factor(freedom) == coverage_factor(13)
    one = Component("a", 0.3, "A", "t", 9)
    exact = Component("exact", 0.0, "A", "t", 4)
    assert Budget(0, (one, exact)).degrees_of_freedom == pytest.approx(9)
    assert Budget(0, (exact,)).degrees_of_freedom == inf
    assert (Budget(0, ()).u, Budget(0, ()).expanded_u) == (0, 0)
    assert Budget(0, (Component("b", 1),)).degrees_of_freedom == inf


@given(
    st.lists(st.tuples(st.floats(1e-3, 1e3), st.integers(1, 50)), min_size=1, max_size=6),
    st.floats(1e-3, 1e3),
)
def test_effective_degrees_of_freedom_lie_between_the_fewest_and_all(parts, other):
    """JCGM 100:2008, G.4.1: nu_eff is at most the sum; it is at least the smallest."""
    components = tuple(Component(str(i), u, "A", "t", nu) for i, (u, nu) in enumerate(parts))
    freedom = Budget(0, components).degrees_of_freedom
    assert min(nu for _, nu in parts) * (1 - 1e-9) <= freedom <= sum(nu for _, nu in parts) * (1 + 1e-9)
    assert Budget(0, (*components, Component("B", other))).degrees_of_freedom >= freedom * (1 - 1e-9)


def test_components_read_together_count_as_one():
    """JCGM 100:2008, H.2.4: y of each set of readings, the second approach, has n - 1 degrees of freedom."""
    readings = random.default_rng(5).multivariate_normal([0, 0], [[1, 0.6], [0.6, 2]], 8)
    one, other = (from_readings(name, column.tolist()) for name, column in zip("ab", readings.T, strict=True))
    r = float(((readings - readings.mean(0)).prod(1).sum() / 7) / (8 * one.u * other.u))
    together = Budget(0, (one, other), {("a", "b"): r})
    directly = from_readings("y", readings.sum(1).tolist())
    assert together.u == pytest.approx(directly.u, rel=1e-12)
    assert together.degrees_of_freedom == pytest.approx(7)


def test_correlation_between_what_does_not_exist_is_refused():
    parts = (Component("a", 1), Component("b", 1))
    for wrong in ({("a", "c"): 0.1}, {("a", "a"): 0.1}, {("a", "b"): 1.1}):
        with pytest.raises(InputError, match="correlation"):
            _ = Budget(0, parts, wrong).u
    with pytest.raises(InputError, match="the same name"):
        _ = Budget(0, (*parts, Component("a", 2)), {("a", "b"): 0.1}).u


def test_two_that_vary_against_each_other_cancel():
    parts = (Component("a", 1, sensitivity=-1), Component("b", 1))
    assert Budget(0, parts, {("a", "b"): 1.0}).u == 0
    assert Budget(0, parts, {("a", "b"): -1.0}).u == pytest.approx(2)


def test_gtc_and_uncertainties_find_the_same_with_correlation():
    gtc, uncertainties = library("GTC"), library("uncertainties")
    u, c, r = array([0.3, 0.2, 0.5]), array([1.0, -2.0, 0.7]), 0.6
    parts = tuple(Component(n, s, sensitivity=k) for n, s, k in zip("abc", u.tolist(), c.tolist(), strict=True))
    ours = Budget(0, parts, {("a", "b"): r}).u
    x = [gtc.ureal(0, s, independent=False) for s in u]
    gtc.set_correlation(r, x[0], x[1])
    assert ours == pytest.approx(sum(k * q for k, q in zip(c, x, strict=True)).u, rel=1e-13)
    covariance = [[0.09, r * 0.06, 0], [r * 0.06, 0.04, 0], [0, 0, 0.25]]
    y = uncertainties.correlated_values([0, 0, 0], covariance)
    assert ours == pytest.approx(sum(k * q for k, q in zip(c, y, strict=True)).s, rel=1e-9)


def test_a_budget_is_a_table_and_one_json_object():
    budget = Budget(
        1.5,
        (Component("step", 0.3, "B", "rectangular"), Component("scatter", 0.4, "A", "t", 9), Component("none", 0.0)),
        second_order_variance=0.01,
    )
    found = json.loads(json.dumps(budget.as_json("g")))
    assert found["u_g"] == pytest.approx(sqrt(0.26))
    assert found["u_second_order_g"] == pytest.approx(0.1)
    assert found["expanded_u_g"] == pytest.approx(found["u_g"] * found["coverage_factor"])
    assert found["coverage_factor"] == coverage_factor(9 * 0.26**2 / 0.16**2)
    assert [c["degrees_of_freedom"] for c in found["components"]] == [None, 9, None]
    lines = str(budget).splitlines()
    assert [line.split()[0] for line in lines] == ["component", "step", "scatter", "second", "combined", "expanded,"]
    assert len({len(line) for line in lines[1:3]}) == 1
