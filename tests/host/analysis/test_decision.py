"""Decisions against JCGM 106:2012 and ILAC-G8:09/2019."""

import json
from fractions import Fraction
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr
from scipy.stats import multivariate_normal

from scalewright.analysis.decision import (
    RULES,
    Interval,
    conformance_probability,
    decide,
    global_risk,
    guarded_by,
    normal_probability,
)
from scalewright.errors import InputError
from tests.host.reference_tables import REFERENCE_DATA

JCGM_106 = json.loads((REFERENCE_DATA / "jcgm106_conformity.json").read_text(encoding="utf-8"))
WITHIN_ONE = Interval.of(-1, 1)


@pytest.mark.parametrize("case", JCGM_106["cases"], ids=lambda case: case["name"])
def test_conformance_probability_of_the_examples(case):
    """JCGM 106:2012, 7.3 and 7.4; verified."""
    tolerance = Interval.of(case.get("TL"), case.get("TU"))
    p = conformance_probability(case["y"], case["u"], tolerance)
    assert f"{p:.2f}" == f"{case['p_conform_published']:.2f}"
    assert p == pytest.approx(case["p_conform"], abs=1e-12)


def test_the_one_sided_table():
    """JCGM 106:2012, 7.3: z to two decimals belongs to p."""
    for p, z in zip(JCGM_106["one_sided_table"]["p"], JCGM_106["one_sided_table"]["z"], strict=True):
        assert normal_probability(z - 0.005) <= p <= normal_probability(z + 0.005)


def test_the_speed_limit():
    """JCGM 106:2012, 8.3: at 107 km/h, u = 2 %, the speed is above 100 km/h with 99.9 %; verified."""
    example = JCGM_106["speed_limit"]
    speed = example["vmax"]
    assert round(speed) == example["vmax_published"]
    above = conformance_probability(speed, example["rel_u"] * speed, Interval.of(example["v0"], None))
    assert above == pytest.approx(example["p"], abs=1e-9)


def test_global_risk_of_the_example():
    """JCGM 106:2012, 9.5; verified."""
    e = JCGM_106["global_risk"]
    tolerance, acceptance = Interval.of(e["TL"], e["TU"]), Interval.of(e["AL"], e["AU"])
    risk = global_risk(e["process_mean"], e["process_sd"], e["u_m"], tolerance, acceptance)
    assert f"{risk.conforming:.1f}" == f"{e['p_conform_published']}"
    assert f"{risk.consumer:.2f}" == f"{e['RC_published']}"
    assert f"{risk.producer:.2f}" == f"{e['RP_published']}"
    assert risk.conforming == pytest.approx(e["p_conform"], abs=1e-11)
    assert risk.consumer == pytest.approx(e["RC"], abs=1e-9)
    assert risk.producer == pytest.approx(e["RP"], abs=1e-8)


@pytest.mark.parametrize("capability", [2, 10])
def test_global_risk_by_measuring_capability(capability):
    """JCGM 106:2012, 9.5: process sd a sixth of the tolerance, simple acceptance, C_m = T / (4 u); verified."""
    published = JCGM_106["capability"][f"Cm{capability}"]
    risk = global_risk(0.0, 2 / 6, 2 / (4 * capability), WITHIN_ONE, WITHIN_ONE)
    for ours, name in ((risk.consumer, "RC"), (risk.producer, "RP")):
        assert ours == pytest.approx(published[name], rel=1e-6)
        assert float(f"{ours:.4f}" if capability == 10 else f"{ours:.3f}") == published[f"{name}_published"]


@pytest.mark.parametrize("u", [0.003, 0.05, 0.6])
@pytest.mark.parametrize("acceptance", [(-0.8, 0.9), (-1.2, 1.3), (None, 0.7)])
def test_global_risk_is_what_the_bivariate_normal_says(u, acceptance):
    """Independent: rectangles under the joint density of true and measured value, by scipy."""
    mean, sd = 0.2, 0.5
    joint = multivariate_normal([mean, mean], [[sd**2, sd**2], [sd**2, sd**2 + u**2]], allow_singular=True)

    def rectangle(x, y):
        return joint.cdf([x[1], y[1]], lower_limit=[x[0], y[0]])

    risk = global_risk(mean, sd, u, WITHIN_ONE, Interval.of(*acceptance))
    y = (-9 if acceptance[0] is None else acceptance[0], acceptance[1])
    accepted_outside = rectangle((-9, -1), y) + rectangle((1, 9), y)
    assert risk.consumer == pytest.approx(accepted_outside, abs=2e-6)
    assert risk.producer == pytest.approx(rectangle((-1, 1), (-9, 9)) - rectangle((-1, 1), y), abs=2e-6)


# ILAC-G8:09/2019: the largest probability of a false accept, one-sided. 4.2.1 and 4.2.2 verified, the rest from memory.
@pytest.mark.parametrize(
    ("rule", "risk", "listed_below"),
    [
        (RULES["simple"], 0.5, 0.5),
        (guarded_by(Fraction(83, 100)), 0.0484572262667, 0.05),
        (RULES["guarded"], 0.0227501319482, 0.025),
        (guarded_by(Fraction(3, 2)), 0.00134989803163, 0.0016),
        (guarded_by(3), 9.87e-10, 1e-6),
    ],
)
def test_a_guard_band_bounds_the_risk_of_a_false_accept(rule, risk, listed_below):
    decision = decide(0, Fraction(1, 10), WITHIN_ONE, rule)
    assert decision.largest_false_accept == pytest.approx(risk, rel=1e-3 if risk < 1e-6 else 1e-10)
    assert decision.largest_false_accept <= listed_below
    # a value just at the acceptance limit conforms with the rest, as far as the other limit is far away
    at_limit = decision.acceptance.ends[1]
    assert 1 - conformance_probability(at_limit, 0.1, Interval.of(None, 1)) == pytest.approx(risk, abs=1e-12)


def test_an_uncritical_rule_rejects_only_with_near_certainty():
    decision = decide(Fraction(12, 10), Fraction(1, 10), WITHIN_ONE, guarded_by(-1))
    assert decision.outcome == "accept"
    assert decide(Fraction(121, 100), Fraction(1, 10), WITHIN_ONE, guarded_by(-1)).outcome == "reject"
    assert decision.conformance_probability == pytest.approx(0.0227501319482)


# ILAC-G8:09/2019, 4.2.3, verified: pass below T - w, conditional pass to T, conditional fail to T + w, fail above.
@pytest.mark.parametrize(
    ("tenths", "simple", "guarded", "conditional"),
    [
        (8, "accept", "accept", "accept"),
        (9, "accept", "reject", "conditional accept"),
        (10, "accept", "reject", "conditional accept"),
        (11, "reject", "reject", "conditional reject"),
        (12, "reject", "reject", "conditional reject"),
        (13, "reject", "reject", "reject"),
    ],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_limits_belong_to_the_better_answer(tenths, simple, guarded, conditional, sign):
    value, u = Fraction(sign * tenths, 10), Fraction(1, 10)
    for name, outcome in (("simple", simple), ("guarded", guarded), ("conditional", conditional)):
        decision = decide(value, u, WITHIN_ONE, RULES[name])
        assert decision.outcome == outcome
        assert decision.passes == outcome.endswith("accept")


def test_comparison_is_exact_where_doubles_are_not():
    """0.3 as a double is below 3/10: a limit of three tenths of a division must still take an error of that size."""
    assert decide(Fraction(3, 10), 0, Interval.of(None, Fraction(3, 10))).outcome == "accept"
    assert decide(Fraction(3, 10), 0, Interval.of(None, 0.3)).outcome == "reject"


def test_a_guard_band_wider_than_the_tolerance_accepts_nothing():
    decision = decide(0, Fraction(6, 10), WITHIN_ONE, RULES["guarded"])
    assert decision.acceptance.is_empty
    assert decision.outcome == "reject"


def test_without_uncertainty_there_is_certainty():
    assert decide(1, 0, WITHIN_ONE).conformance_probability == 1
    assert decide(Fraction(11, 10), 0, WITHIN_ONE).conformance_probability == 0


@given(st.floats(-50, 50), st.floats(1e-3, 10), st.floats(-20, 20), st.floats(1e-3, 20))
def test_probability_of_an_interval_is_a_difference_of_two(value, u, lower, width):
    """Against scipy's normal distribution, in whichever tail keeps the digits."""
    low, high = (lower - value) / u, (lower + width - value) / u
    expected = ndtr(high) - ndtr(low) if low < 0 else ndtr(-low) - ndtr(-high)
    p = conformance_probability(value, u, Interval.of(lower, lower + width))
    assert p == pytest.approx(expected, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("z", [-38, -8, -1, 0, 1, 8])
def test_both_tails_keep_their_digits(z):
    assert normal_probability(z) == pytest.approx(ndtr(z), rel=1e-13)


@pytest.mark.parametrize(
    ("value", "u", "tolerance", "k", "message"),
    [
        (0, 1, Interval.of(1, -1), 2, "no tolerance"),
        (0, 1, Interval.of(None, None), 2, "no tolerance"),
        (0, -1, WITHIN_ONE, 2, "u = -1, k = 2; expected u from 0"),
        (0, 1, WITHIN_ONE, 0, "u = 1, k = 0; expected u from 0"),
    ],
)
def test_what_cannot_be_decided_is_refused(value, u, tolerance, k, message):
    with pytest.raises(InputError, match=message):
        decide(value, u, tolerance, k=k)


@pytest.mark.parametrize(("sd", "u"), [(0.0, 1.0), (1.0, 0.0), (inf, 1.0)])
def test_global_risk_needs_spread(sd, u):
    with pytest.raises(InputError, match="expected both above 0"):
        global_risk(0.0, sd, u, WITHIN_ONE, WITHIN_ONE)
