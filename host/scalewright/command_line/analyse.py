"""`scalewright analyse`: a calibration curve through recorded points, as a report or as JSON."""

import argparse
import json
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from scalewright.analysis.fit_points import RESPONSES, ZEROS, FitPoints, fit_points
from scalewright.analysis.influence import influences
from scalewright.analysis.model_choice import Choice, choose_degree
from scalewright.analysis.polynomial import MAX_DEGREE, PolynomialFit, fit_to
from scalewright.analysis.screening import outliers, warnings
from scalewright.command_line import curve_report as report
from scalewright.command_line.numbers import number
from scalewright.command_line.plotting import add_plot_arguments, draw, residual_chart
from scalewright.errors import InputError, MeasurementError
from scalewright.examples import EXAMPLES, example_path
from scalewright.recordings import read_observations

_LEAST_MAX_G = Decimal("1e-9")
MODELS = {
    "polynomial": "points weigh by the response's stated uncertainty, or alike",
    "effective-variance": "the other quantity's uncertainty counts too, by the slope; exact",
    "errors-in-both": "generalised distance regression (ISO/TS 28037, clause 7)",
    "shared-masses": "loads made of one set of masses, correlated (ISO/TS 28037, clause 10)",
    "piecewise": "straight pieces with a knot at each load, which may not turn back",
    "two-curve": "one curve up, one down, and the hysteresis between them",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="observations (CSV)")
    parser.add_argument("--example", choices=sorted(EXAMPLES), help="observations that come with the toolkit")
    models = "; ".join(f"{name}: {what}" for name, what in MODELS.items())
    parser.add_argument("--model", choices=MODELS, default="polynomial", help=f"{models} (default polynomial)")
    parser.add_argument("--degree", type=int, help=f"1 to {MAX_DEGREE} (default: as the file's metadata says, else 1)")
    parser.add_argument("--compare", action="store_true", help="compare degrees 1 to 3 and take the one that is needed")
    parser.add_argument(
        "--response",
        choices=RESPONSES,
        default=RESPONSES[0],
        help="counts: the indication as response to the load (default); load: the load on the counts",
    )
    zeros = "free: fitted (default); origin: 0 g is 0 counts; observed: 0 g is what the empty scale showed"
    parser.add_argument("--zero", choices=ZEROS, default=ZEROS[0], help=zeros)
    parser.add_argument("--unweighted", action="store_true", help="give all points the same weight")
    parser.add_argument("--max", metavar="G", help="Max of the scale, to say what the loads do not reach")
    parser.add_argument("--mass-set", metavar="FILE", help="for shared-masses: CSV with name,mass_g,u_mass_g")
    parser.add_argument("--correlation", type=float, default=1.0, metavar="R", help="between its masses (default 1)")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    add_plot_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Fit and report."""
    if (arguments.file is None) == (arguments.example is None):
        raise InputError("analyse takes one FILE or one --example")
    path = arguments.file if arguments.example is None else example_path(EXAMPLES[arguments.example])
    if arguments.max is not None:
        arguments.max = number(arguments.max, "--max", low=_LEAST_MAX_G)
    points = fit_points(read_observations(path), arguments.response, arguments.zero)
    degree = points.observations.degree if arguments.degree is None else arguments.degree
    try:
        results, text = _analysis(points, degree, arguments)
        as_json = _finite_json(results)
    except MeasurementError as error:
        raise InputError(error.message, file=path, remedy=error.remedy) from error
    except OverflowError as error:
        raise InputError("results too large for a double; expected values of more alike sizes", file=path) from error
    print(as_json if arguments.json else text)
    draw([residual_chart(results)], arguments)
    return 0


def _finite_json(results: dict[str, Any]) -> str:
    try:
        return json.dumps(results, indent=1, allow_nan=False)
    except ValueError as error:
        raise OverflowError from error


def _analysis(points: FitPoints, degree: int, arguments: argparse.Namespace) -> tuple[dict[str, Any], str]:
    """Return the results for --json, and the report."""
    if arguments.compare and arguments.model != "polynomial":
        raise InputError(f"--compare with --model {arguments.model}; expected it with polynomial")
    if arguments.model not in ("polynomial", "effective-variance"):
        from scalewright.command_line.curve_models import analysis

        return analysis(points, degree, arguments)
    curve = _fitted(points, degree, arguments)
    results = _results(curve, arguments.max)
    return results, _report(results)


@dataclass(frozen=True)
class _Fitted:
    points: FitPoints
    fit: PolynomialFit
    u: Sequence[Fraction | Decimal] | None
    """what weighed the points"""
    choice: Choice | None
    """the comparison that the degree came from"""


def _fitted(points: FitPoints, degree: int, arguments: argparse.Namespace) -> _Fitted:
    if arguments.model == "effective-variance":
        from scalewright.analysis.errors_in_both import effective_variance_fit, stated_uncertainties

        fit_to(points, degree, use_uncertainties=False)  # says in the file's words what the points do not determine
        u_both = stated_uncertainties(points)
        fit, u = effective_variance_fit(points.x, points.y, *u_both, degree, through_zero=points.through_zero)
        return _Fitted(points, fit, u, None)
    u_y = None if arguments.unweighted else points.u_y()
    if not arguments.compare:
        return _Fitted(points, fit_to(points, degree, use_uncertainties=not arguments.unweighted), u_y, None)
    choice = choose_degree(points.x, points.y, u=u_y, through_zero=points.through_zero)
    return _Fitted(points, choice.chosen.fit, u_y, choice)


def _results(curve: _Fitted, max_g: Decimal | None) -> dict[str, Any]:
    points, fit = curve.points, curve.fit
    influence = influences(fit, points.x, curve.u)
    degree = len(fit.coefficients) - 1 + fit.first_power
    return {
        **report.heading(points),
        "weighted": fit.weighted,
        "degrees_of_freedom": fit.degrees_of_freedom,
        "coefficients": _coefficients(curve),
        f"residual_sd_{report.suffix(points.response)}": None if fit.weighted else fit.residual_sd,
        "chi_squared": float(fit.residual_sum) if fit.weighted else None,
        "r_squared": fit.r_squared,
        "f_statistic": fit.f_statistic,
        "comparison": curve.choice and _comparison(curve.choice, report.suffix(points.response)),
        "warnings": warnings(points.observations, degree, influence, max_g),
        "outliers": report.outliers_as_json(outliers(influence, points.observations.lines)),
        "points": report.points_with(points, fit.residuals),
    }


def _comparison(choice: Choice, suffix: str) -> dict[str, Any]:
    return {
        "degree": choice.degree,
        "reasons": choice.reasons,
        "degrees": [
            {
                "degree": candidate.degree,
                "degrees_of_freedom": candidate.fit.degrees_of_freedom,
                "f": candidate.f,
                "p": candidate.p,
                f"left_out_rms_{suffix}": candidate.left_out_rms,
            }
            for candidate in choice.candidates
        ],
    }


def _coefficients(curve: _Fitted) -> list[dict[str, Any]]:
    fit = curve.fit
    undefined = (None,) * len(fit.coefficients)
    errors = fit.standard_errors or undefined
    uncertainties = fit.standard_uncertainties or undefined
    return [
        {
            "power": power,
            "value": float(value),
            "standard_error": error,
            "standard_uncertainty": uncertainty,
            "unit": report.unit_of(curve.points, power),
            "exact": str(value),
        }
        for power, (value, error, uncertainty) in enumerate(
            zip(fit.coefficients, errors, uncertainties, strict=True), fit.first_power
        )
    ]


def _report(results: dict[str, Any]) -> str:
    weights = "weighted by their stated uncertainties" if results["weighted"] else "all of the same weight"
    key = "standard_uncertainty" if results["weighted"] else "standard_error"
    return "\n\n".join(
        [
            report.title_line(results, weights),
            *_comparison_lines(results),
            report.curve_lines(results, results["coefficients"], results["response"], key),
            _quality(results),
            *report.doubt_lines(results),
            report.point_lines(results),
        ]
    )


def _comparison_lines(results: dict[str, Any]) -> list[str]:
    if results["comparison"] is None:
        return []
    missed = f"left_out_rms_{report.suffix(results['response'])}"
    lines = [f"{'degree':>6}{'freedom':>9}{'F':>14}{'p':>12}{'left out, rms':>16}"]
    lines += [
        f"{c['degree']:>6}{c['degrees_of_freedom']:>9}{_known(c['f'], 6):>14}{_known(c['p'], 3):>12}"
        f"{_known(c[missed], 4):>16}"
        for c in results["comparison"]["degrees"]
    ]
    chosen = f"Degree {results['comparison']['degree']} is taken:"
    return ["\n".join(lines), *report.sentences(chosen, results["comparison"]["reasons"])]


def _known(value: float | None, digits: int) -> str:
    return "" if value is None else report.figure(value, digits=digits) if value else "< 1e-12"


def _quality(results: dict[str, Any]) -> str:
    unit = results["counts_unit"] if results["response"] == "counts" else results["load_unit"]
    if results["weighted"]:
        scatter = ("chi-squared", report.figure(results["chi_squared"]))
    else:
        residual_sd = results[f"residual_sd_{report.suffix(results['response'])}"]
        scatter = ("residual standard deviation", report.figure(residual_sd, unit=unit))
    return report.figure_lines(
        [
            scatter,
            ("degrees of freedom", results["degrees_of_freedom"]),
            ("R2", report.figure(results["r_squared"], digits=12)),
            ("F", report.figure(results["f_statistic"])),
        ]
    )
