"""`scalewright decide`: is an error within its limit, given how well it is known?"""

import argparse
import json
from decimal import Decimal
from fractions import Fraction
from typing import Any

from scalewright.analysis.decision import RULES, Interval, Rule, decide, global_risk, guarded_by
from scalewright.command_line.numbers import number
from scalewright.errors import InputError
from scalewright.handbook_44 import Handbook44Class
from scalewright.own_tolerance import read_own_tolerance
from scalewright.tolerances import AccuracyClass, Tolerance
from scalewright.weight_classes import WeightClass


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--error", required=True, metavar="G", help="the error of indication found, in grams")
    known = parser.add_mutually_exclusive_group(required=True)
    known.add_argument("--u", metavar="G", help="its standard uncertainty (k = 1)")
    known.add_argument("--expanded", metavar="G", help="its expanded uncertainty U = k u, as certificates state it")
    parser.add_argument("--k", default="2", metavar="K", help="coverage factor (default 2)")
    limit = parser.add_mutually_exclusive_group(required=True)
    limit.add_argument("--limit", metavar="G", help="the limit, in grams, to either side")
    limit.add_argument("--class", dest="accuracy_class", metavar="CLASS", help="by OIML R 76 class: I, II, III, IIII")
    limit.add_argument("--handbook-44", metavar="CLASS", help="by Handbook 44 class (from memory, edition dependent)")
    limit.add_argument("--weight-class", metavar="CLASS", help="by OIML R 111 class, for a weight of nominal --load")
    limit.add_argument("--table", metavar="FILE", help="by your own CSV table load_g,limit_g")
    parser.add_argument("--load", metavar="G", help="the load, for a limit by class or table")
    parser.add_argument("--division", metavar="G", help="e (R 76) or d (Handbook 44), for a limit by class")
    parser.add_argument("--in-service", action="store_true", help="the limits in service, not those of the first test")
    parser.add_argument("--rule", default="simple", metavar="RULE", help=f"{', '.join(RULES)}, or r for w = r U")
    parser.add_argument("--prior-sd", metavar="G", help="sd of the errors of all such scales: adds the global risks")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Decide and report. Exit code 1 where the error is rejected."""
    error_g = number(arguments.error, "--error")
    k = number(arguments.k, "--k", Decimal("0.1"), 10)
    u_g = _given(arguments, "u", 0) if arguments.u else _given(arguments, "expanded", 0) / k
    limit_g, source = _limit(arguments)
    tolerance = Interval(-limit_g, limit_g)
    decision = decide(error_g, u_g, tolerance, _rule(arguments.rule), k)
    result: dict[str, Any] = {
        "outcome": decision.outcome,
        "passes": decision.passes,
        "error_g": float(error_g),
        "u_error_g": float(u_g),
        "coverage_factor": float(k),
        "limit_g": float(limit_g),
        "limit_source": source,
        "rule": decision.rule,
        "guard_band_g": float(decision.guard_band),
        "acceptance_limit_g": None if decision.acceptance.is_empty else decision.acceptance.ends[1],
        "conformance_probability": decision.conformance_probability,
        "largest_false_accept": decision.largest_false_accept,
    }
    if arguments.prior_sd:
        prior_sd_g = float(_given(arguments, "prior_sd", 0))
        risk = global_risk(0.0, prior_sd_g, float(u_g), tolerance, decision.acceptance)
        result |= {"consumer_risk": risk.consumer, "producer_risk": risk.producer}
    print(json.dumps(result) if arguments.json else _report(result))
    return 0 if decision.passes else 1


def _given(arguments: argparse.Namespace, name: str, low: Decimal | int) -> Decimal:
    option, text = "--" + name.replace("_", "-"), getattr(arguments, name)
    if text is None:
        raise InputError(f"{option} is missing: the limit depends on it")
    return number(text, option, low)


def _rule(text: str) -> Rule:
    return RULES[text] if text in RULES else guarded_by(number(text, "--rule", -1, 10))


def _limit(arguments: argparse.Namespace) -> tuple[Fraction, str]:
    """Return the limit in g and where it comes from."""
    if arguments.limit:
        return Fraction(_given(arguments, "limit", 0)), "stated"
    tolerance = _tolerance(arguments)
    load_g = Fraction(_given(arguments, "load", 0))
    return tolerance.permissible_error_g(load_g, in_service=arguments.in_service), tolerance.source


def _tolerance(arguments: argparse.Namespace) -> Tolerance:
    if arguments.table:
        return read_own_tolerance(arguments.table)
    if arguments.weight_class:
        return WeightClass(arguments.weight_class)
    division_g = Fraction(_given(arguments, "division", 0))
    if arguments.handbook_44:
        return Handbook44Class(arguments.handbook_44, division_g)
    return AccuracyClass(arguments.accuracy_class, division_g)


def _report(result: dict[str, Any]) -> str:
    lines = [
        f"{result['outcome']}",
        f"error of indication      {result['error_g']:+.6g} g, u = {result['u_error_g']:.3g} g (k = 1)",
        f"limit                    {result['limit_g']:.6g} g, {result['limit_source']}",
        f"rule                     {result['rule']}",
        f"accepted up to           {_acceptance(result)}",
        f"probability of being within the limit             {result['conformance_probability']:.4%}",
        f"largest probability of accepting what is outside  {result['largest_false_accept']:.3%}",
    ]
    if "consumer_risk" in result:
        lines.append(f"over all such scales: wrongly accepted {result['consumer_risk']:.3%}")
        lines.append(f"                      wrongly rejected {result['producer_risk']:.3%}")
    lines.append("This is no legal verification: local law says who may do that, and by which limits.")
    return "\n".join(lines)


def _acceptance(result: dict[str, Any]) -> str:
    if result["acceptance_limit_g"] is None:
        return "nothing: the uncertainty is larger than the limit, measure better"
    return f"{result['acceptance_limit_g']:.6g} g (guard band {result['guard_band_g']:.3g} g)"
