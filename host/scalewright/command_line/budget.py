"""`scalewright budget`: the uncertainty of a calibration, point by point, and what it means in use."""

import argparse
import json
from collections.abc import Sequence
from typing import Any

from scalewright.analysis.error_of_indication import ErrorOfIndication, error_of_indication
from scalewright.analysis.in_use import InUse, error_line
from scalewright.calibration_file import CalibrationFile, Wanted, read_calibration
from scalewright.errors import InputError
from scalewright.examples import example_path

EXAMPLE = "budget_3kg.toml"
_SHARES_OF_MAX = (0.0, 0.1, 0.25, 0.5, 0.75, 1.0)
_METHOD = "EURAMET cg-18, version 4.0 (formulas not yet held against the printed guide), and JCGM 100:2008"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="one calibration (TOML; see the example)")
    parser.add_argument("--example", action="store_true", help=f"the invented calibration {EXAMPLE} of the toolkit")
    parser.add_argument(
        "--monte-carlo", action="store_true", help="hold each budget against a Monte Carlo calculation (JCGM 101)"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Work out the budgets and report."""
    if (arguments.file is None) != arguments.example:
        raise InputError("budget takes one FILE or --example")
    calibration = read_calibration(example_path(EXAMPLE) if arguments.example else arguments.file)
    points = [error_of_indication(calibration.scale, load) for load in calibration.loads]
    validations = [_monte_carlo(point) for point in points] if arguments.monte_carlo else []
    in_use = None
    if calibration.use is not None:
        line = error_line(points)
        in_use = InUse(calibration.scale, line, calibration.use.conditions, calibration.max_g)
    if arguments.json:
        print(json.dumps(_as_json(calibration, points, validations, in_use)))
    else:
        print("\n\n".join(_report(calibration, points, validations, in_use)))
    return 0


def _monte_carlo(point: ErrorOfIndication) -> dict[str, Any]:
    """Return the shortest interval of the error, drawn, and whether the budget's stands beside it (clause 8)."""
    from scalewright.analysis.monte_carlo import adaptive_monte_carlo, validate

    budget = point.budget
    drawn = adaptive_monte_carlo(budget.evaluate, budget.components, digits=1, finer=5)
    low_g, high_g = drawn.shortest_interval()
    validation = validate(budget.interval, (low_g, high_g), drawn.u, digits=1)
    return {
        "draws": len(drawn.values),
        "u_error_g": drawn.u,
        "interval_low_g": low_g,
        "interval_high_g": high_g,
        "tolerance_g": validation.tolerance,
        "budget_holds": validation.holds,
    }


def _as_json(
    calibration: CalibrationFile,
    points: Sequence[ErrorOfIndication],
    validations: Sequence[dict[str, Any]],
    in_use: InUse | None,
) -> dict[str, Any]:
    result: dict[str, Any] = {
        "file": calibration.file,
        "scenario": calibration.scenario,
        "method": _METHOD,
        "points": [point.as_json() for point in points],
    }
    for point, validation in zip(result["points"], validations, strict=False):
        point["monte_carlo"] = validation
    if in_use is not None and calibration.use is not None:
        readings_g = [share * calibration.max_g for share in _SHARES_OF_MAX]
        result["in_use"] = in_use.as_json(readings_g) | {
            "minimum_weights": [
                {"required_relative": m.required_relative, "safety_factor": m.safety_factor, "minimum_g": m.minimum_g}
                for m in _minimum_weights(in_use, calibration.use)
            ]
        }
    return result


def _minimum_weights(in_use: InUse, wanted: Wanted) -> list[Any]:
    pairs = [(required, factor) for required in wanted.required_relative for factor in wanted.safety_factors]
    return [in_use.minimum_weight(required, factor) for required, factor in pairs]


def _report(
    calibration: CalibrationFile,
    points: Sequence[ErrorOfIndication],
    validations: Sequence[dict[str, Any]],
    in_use: InUse | None,
) -> list[str]:
    """Return the report in parts."""
    parts = [f"{calibration.scenario or calibration.file}\n{_METHOD}; all in g"]
    parts += [f"load {point.reference_mass_g:.7g}\n{point.budget}" for point in points]
    parts.append(_errors(points))
    if validations:
        parts.append(_validations(points, validations))
    if in_use is not None and calibration.use is not None:
        parts += [_in_use(in_use, calibration.max_g), _weights(_minimum_weights(in_use, calibration.use))]
    return parts


def _errors(points: Sequence[ErrorOfIndication]) -> str:
    lines = [f"{'load':>13}{'indication':>13}{'error E':>11}{'u(E)':>10}{'dof':>7}{'k':>7}{'U(E)':>10}"]
    for p in points:
        freedom = p.budget.degrees_of_freedom
        dof = f"{freedom:.4g}" if freedom < 1e4 else "inf"
        numbers = f"{p.reference_mass_g:>13.7g}{p.indication_g:>13.7g}{p.error_g:>+11.4g}{p.u_error_g:>10.3g}"
        lines.append(f"{numbers}{dof:>7}{p.budget.coverage_factor:>7.2f}{p.budget.expanded_u:>10.3g}")
    return "\n".join([*lines, "U(E) holds 95.45 %"])


def _validations(points: Sequence[ErrorOfIndication], validations: Sequence[dict[str, Any]]) -> str:
    lines = [f"{'load':>13}{'draws':>10}{'u(E) drawn':>12}  {'shortest 95.45 % interval':27}{'budget':>9}"]
    for p, v in zip(points, validations, strict=True):
        interval = f"{v['interval_low_g']:+.4g} to {v['interval_high_g']:+.4g}"
        verdict = "holds" if v["budget_holds"] else "differs"
        lines.append(f"{p.reference_mass_g:>13.7g}{v['draws']:>10}{v['u_error_g']:>12.3g}  {interval:27}{verdict:>9}")
    lines.append("holds: both ends within half a unit of the first digit of u(E) (JCGM 101:2008, clause 8)")
    return "\n".join(lines)


def _in_use(in_use: InUse, max_g: float) -> str:
    line = in_use.line
    verdict = "holds" if line.holds and line.errors_near else "DOES NOT HOLD: do not correct readings by it"
    alpha_g, beta = in_use.global_line()
    lines = [
        f"in use: error line E = {line.slope:.3g} R, u = {line.u_slope:.2g}; chi-squared {line.chi_squared:.3g} "
        f"with {line.degrees_of_freedom} degrees of freedom: {verdict}",
        f"{'reading R':>13}{'U corrected':>14}{'U as read':>12}",
    ]
    for reading_g in (share * max_g for share in _SHARES_OF_MAX):
        lines.append(f"{reading_g:>13.7g}{in_use.expanded_u_g(reading_g):>14.3g}{in_use.global_u_g(reading_g):>12.3g}")
    return "\n".join([*lines, f"as read: U = {alpha_g:.3g} + {beta:.3g} R at most, k = {in_use.coverage_factor:g}"])


def _weights(minimum_weights: Sequence[Any]) -> str:
    lines = [f"{'wanted U/R':>13}{'safety factor':>15}{'minimum weight':>16}"]
    for m in minimum_weights:
        minimum = "none up to Max" if m.minimum_g is None else f"{m.minimum_g:.4g}"
        lines.append(f"{m.required_relative:>13.4g}{m.safety_factor:>15g}{minimum:>16}")
    return "\n".join(lines)
