"""`scalewright analyse`: a calibration curve through recorded points, as a report or as JSON."""

import argparse
import json
import os
from typing import Any

from scalewright.analysis.fit_points import RESPONSES
from scalewright.analysis.polynomial import MAX_DEGREE, PolynomialFit, fit_observations
from scalewright.errors import InputError
from scalewright.examples import EXAMPLES, example_path
from scalewright.recordings import Observations, read_observations

_SUFFIXES = {"counts": "counts", "load": "g"}
"""how the names of residuals end, by response"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help="observations (CSV)")
    parser.add_argument("--example", choices=sorted(EXAMPLES), help="observations that come with the toolkit")
    parser.add_argument("--degree", type=int, help=f"1 to {MAX_DEGREE} (default: as the file's metadata says, else 1)")
    parser.add_argument(
        "--response",
        choices=RESPONSES,
        default=RESPONSES[0],
        help="counts: the indication as response to the load (default); load: the load on the counts",
    )
    parser.add_argument("--through-zero", action="store_true", help="leave out the constant term")
    parser.add_argument("--unweighted", action="store_true", help="give all points the same weight")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    if (arguments.file is None) == (arguments.example is None):
        raise InputError("analyse takes one FILE or one --example")
    path = arguments.file if arguments.example is None else example_path(EXAMPLES[arguments.example])
    observations = read_observations(path)
    fit = fit_observations(
        observations,
        observations.degree if arguments.degree is None else arguments.degree,
        arguments.response,
        zero="origin" if arguments.through_zero else "free",
        use_uncertainties=not arguments.unweighted,
    )
    try:
        results = _results(observations, fit, arguments.response)
    except OverflowError as error:
        raise InputError("results too large for a double; expected values of more alike sizes", file=path) from error
    print(json.dumps(results, indent=1) if arguments.json else _report(results))
    return 0


def _results(observations: Observations, fit: PolynomialFit, response: str) -> dict[str, Any]:
    """Return what the command prints; `_g` and `_counts` stand for the units named in load_unit and counts_unit."""
    units = {"counts": observations.counts_unit, "load": observations.load_unit}
    suffix = _SUFFIXES[response]
    return {
        "file": observations.file,
        "load_unit": units["load"],
        "counts_unit": units["counts"],
        "response": response,
        "weighted": fit.weighted,
        "number_of_points": len(observations.points),
        "degrees_of_freedom": fit.degrees_of_freedom,
        "coefficients": _coefficients(fit, units.pop(response), *units.values()),
        f"residual_sd_{suffix}": None if fit.weighted else fit.residual_sd,
        "chi_squared": float(fit.residual_sum) if fit.weighted else None,
        "r_squared": fit.r_squared,
        "f_statistic": fit.f_statistic,
        "points": [
            {
                "line": line,
                "direction": point.direction,
                "load_g": float(point.load_g),
                "counts": float(point.counts),
                f"residual_{suffix}": float(residual),
            }
            for line, point, residual in zip(observations.lines, observations.points, fit.residuals, strict=True)
        ],
    }


def _coefficients(fit: PolynomialFit, y_unit: str, x_unit: str) -> list[dict[str, Any]]:
    undefined = (None,) * len(fit.coefficients)
    errors = fit.standard_errors or undefined
    uncertainties = fit.standard_uncertainties or undefined
    return [
        {
            "power": power,
            "value": float(value),
            "standard_error": error,
            "standard_uncertainty": uncertainty,
            "unit": y_unit + (f" / {x_unit}" if power else "") + (f"^{power}" if power > 1 else ""),
            "exact": str(value),
        }
        for power, (value, error, uncertainty) in enumerate(
            zip(fit.coefficients, errors, uncertainties, strict=True), fit.first_power
        )
    ]


def _report(results: dict[str, Any]) -> str:
    weights = "weighted by their stated uncertainties" if results["weighted"] else "all of the same weight"
    heading = f"{os.path.basename(results['file'])}: {results['number_of_points']} points, {weights}"
    return "\n\n".join([heading, _curve(results), _quality(results), _points(results)])


def _curve(results: dict[str, Any]) -> str:
    response = results["response"]
    x = "load" if response == "counts" else "counts"
    terms = [f"c{c['power']} {x}^{c['power']}" for c in results["coefficients"]]
    sum_of_terms = " + ".join(terms).replace(f" {x}^0", "").replace(f"{x}^1", x)
    key = "standard_uncertainty" if results["weighted"] else "standard_error"
    lines = [f"{response} = {sum_of_terms}", "", f"{'':4}{'value':>24}{key.replace('_', ' '):>22}  unit"]
    lines += [
        f"c{c['power']:<3}{c['value']:>24}{_figure(c[key]):>22}  {c['unit']}" for c in results["coefficients"]
    ]
    return "\n".join(lines)


def _quality(results: dict[str, Any]) -> str:
    unit = results["counts_unit"] if results["response"] == "counts" else results["load_unit"]
    if results["weighted"]:
        scatter = ("chi-squared", _figure(results["chi_squared"]))
    else:
        residual_sd = results[f"residual_sd_{_SUFFIXES[results['response']]}"]
        scatter = ("residual standard deviation", _figure(residual_sd, unit=unit))
    figures = [
        scatter,
        ("degrees of freedom", results["degrees_of_freedom"]),
        ("R2", _figure(results["r_squared"], digits=12)),
        ("F", _figure(results["f_statistic"])),
    ]
    return "\n".join(f"{name:<29}{value}" for name, value in figures)


def _points(results: dict[str, Any]) -> str:
    residual = f"residual_{_SUFFIXES[results['response']]}"
    lines = [f"{'line':>6}  {'':4}{'load':>16}{'counts':>16}{'residual':>14}"]
    lines += [
        f"{p['line']:>6}  {p['direction']:4}{p['load_g']:>16.15g}{p['counts']:>16.15g}{p[residual]:>14.4g}"
        for p in results["points"]
    ]
    return "\n".join(lines)


def _figure(value: float | None, *, digits: int = 6, unit: str = "") -> str:
    return "undefined" if value is None else f"{value:.{digits}g} {unit}".rstrip()
