"""The curves of `scalewright analyse` that are no single weighted polynomial: fitted, and rendered."""

import argparse
from collections.abc import Callable
from dataclasses import asdict
from math import sqrt
from typing import Any

from scalewright.analysis.calibration_function import CalibrationFunction
from scalewright.analysis.correlated import fit_correlated, loads_of_set, read_mass_set
from scalewright.analysis.errors_in_both import fit_errors_in_both
from scalewright.analysis.fit_points import FitPoints, fit_points
from scalewright.analysis.hysteresis import Hysteresis, two_curves
from scalewright.analysis.piecewise import fit_piecewise
from scalewright.analysis.polynomial import PolynomialFit, fit_to
from scalewright.analysis.screening import warnings
from scalewright.command_line import curve_report as report
from scalewright.errors import InputError

Analysis = tuple[dict[str, Any], str]


def analysis(points: FitPoints, degree: int, arguments: argparse.Namespace) -> Analysis:
    """Return the results for --json, and the report, of the model that was asked for."""
    model: Callable[[FitPoints, int, argparse.Namespace], Analysis] = {
        "errors-in-both": _errors_in_both,
        "shared-masses": _shared_masses,
        "piecewise": _piecewise,
        "two-curve": _two_curve,
    }[arguments.model]
    fit_to(points, 1 if arguments.model == "piecewise" else degree, use_uncertainties=False)  # are there enough points?
    return model(points, degree, arguments)


def _errors_in_both(points: FitPoints, degree: int, arguments: argparse.Namespace) -> Analysis:
    return _function(points, fit_errors_in_both(points, degree), arguments, "uncertain in load and indication")


def _shared_masses(points: FitPoints, degree: int, arguments: argparse.Namespace) -> Analysis:
    if arguments.mass_set is None:
        raise InputError("--model shared-masses; expected --mass-set FILE beside it")
    masses = read_mass_set(arguments.mass_set)
    observations, covariance = loads_of_set(points.observations, masses, arguments.correlation)
    points = fit_points(observations, points.response, points.zero)
    remark = f"loads made of {len(masses)} masses, correlated by {arguments.correlation:g}"
    return _function(points, fit_correlated(points, covariance, degree), arguments, remark)


def _function(points: FitPoints, function: CalibrationFunction, arguments: argparse.Namespace, remark: str) -> Analysis:
    coefficients, covariance = function.powers_of_x()
    x, y = ([float(value) for value in column] for column in (points.x, points.y))
    limit = function.chi_squared_limit() if function.degrees_of_freedom else None
    results = {
        **report.heading(points),
        "model": arguments.model,
        "degrees_of_freedom": function.degrees_of_freedom,
        "coefficients": [
            {
                "power": power,
                "value": float(value),
                "standard_uncertainty": sqrt(max(float(covariance[power, power]), 0.0)),
                "unit": report.unit_of(points, power),
            }
            for power, value in enumerate(coefficients)
            if power or not points.through_zero
        ],
        "covariance": covariance.tolist(),
        "chi_squared": float(function.chi_squared),
        "chi_squared_limit_95": limit,
        "is_consistent": None if limit is None else bool(function.chi_squared <= limit),
        "warnings": warnings(points.observations, len(coefficients) - 1, max_g=arguments.max),
        "outliers": [],
        "points": report.points_with(points, [b - float(a) for a, b in zip(function.value(x), y, strict=True)]),
    }
    return results, _function_report(results, remark)


def _function_report(results: dict[str, Any], remark: str) -> str:
    verdict = {
        None: "no degree of freedom is left to judge by",
        True: "model and stated uncertainties agree with the points",
        False: "EXCEEDED: the model does not fit, or uncertainties are stated too small",
    }[results["is_consistent"]]
    figures = [
        ("chi-squared", report.figure(results["chi_squared"])),
        ("limit for 95 %", report.figure(results["chi_squared_limit_95"])),
        ("", verdict),
        ("degrees of freedom", results["degrees_of_freedom"]),
    ]
    curve = report.curve_lines(results, results["coefficients"], results["response"], "standard_uncertainty")
    return _joined(results, remark, curve, report.figure_lines(figures))


def _piecewise(points: FitPoints, degree: int, arguments: argparse.Namespace) -> Analysis:
    curve = fit_piecewise(points, use_uncertainties=not arguments.unweighted)
    suffixes = ("g", "counts") if points.response == "counts" else ("counts", "g")
    names = [{"g": "load_g", "counts": "counts"}[suffix] for suffix in suffixes]
    pairs = list(zip(map(float, curve.knots), map(float, curve.values), strict=True))
    results = {
        **report.heading(points),
        "model": arguments.model,
        "degrees_of_freedom": curve.degrees_of_freedom,
        "knots": [dict(zip(names, pair, strict=True)) for pair in pairs],
        f"residual_sd_{suffixes[1]}": curve.residual_sd,
        "warnings": warnings(points.observations, 1, max_g=arguments.max),
        "outliers": [],
        "points": report.points_with(points, curve.residuals),
    }
    table = "\n".join([f"{'knot':>16}{points.response:>16}", *(f"{x:>16.15g}{y:>16.15g}" for x, y in pairs)])
    figures = [
        ("residual standard deviation", report.figure(curve.residual_sd, unit=report.unit_of(points, 0))),
        ("degrees of freedom", curve.degrees_of_freedom),
    ]
    return results, _joined(results, "straight pieces", table, report.figure_lines(figures))


def _two_curve(points: FitPoints, degree: int, arguments: argparse.Namespace) -> Analysis:
    if points.response != "counts":
        raise InputError("--model two-curve with --response load; expected counts, the response that has hysteresis")
    weigh = not arguments.unweighted
    curves = two_curves(points.observations, degree, arguments.max, points.zero, use_uncertainties=weigh)
    branches = {"up": curves.up, "down": curves.down}
    directions = [point.direction for point in points.observations.points]
    residuals = [
        y - branches[direction].evaluate(x) for x, y, direction in zip(points.x, points.y, directions, strict=True)
    ]
    results = {
        **report.heading(points),
        "model": arguments.model,
        **{direction: _branch(points, fit) for direction, fit in branches.items()},
        "hysteresis": {
            **asdict(curves.hysteresis),
            "widest": asdict(curves.hysteresis.widest),
            "fraction_of_max": curves.hysteresis.fraction_of_max,
        },
        "warnings": warnings(points.observations, degree, max_g=arguments.max),
        "outliers": [],
        "points": report.points_with(points, residuals),
    }
    tables = [
        report.curve_lines(results, results[name]["coefficients"], f"{name}: counts", "standard_error")
        for name in branches
    ]
    return results, _joined(results, "one curve up and one down", *tables, _hysteresis_lines(curves.hysteresis, points))


def _branch(points: FitPoints, fit: PolynomialFit) -> dict[str, Any]:
    errors = fit.standard_errors or (None,) * len(fit.coefficients)
    return {
        "degrees_of_freedom": fit.degrees_of_freedom,
        "weighted": fit.weighted,
        "coefficients": [
            {"power": power, "value": float(value), "standard_error": error, "unit": report.unit_of(points, power)}
            for power, (value, error) in enumerate(zip(fit.coefficients, errors, strict=True), fit.first_power)
        ],
    }


def _hysteresis_lines(hysteresis: Hysteresis, points: FitPoints) -> str:
    unit = points.observations.load_unit
    widest, gap = hysteresis.widest, hysteresis.between_curves
    table = [f"{'load':>16}{'down - up':>14}  {unit}"]
    table += [f"{d.load_g:>16.15g}{d.difference_g:>14.4g}" for d in hysteresis.observed]
    figures = [
        ("hysteresis", f"{widest.difference_g:.4g} {unit} at {widest.load_g:.12g} {unit}"),
        ("as a fraction of Max", f"{hysteresis.fraction_of_max:.3g} of {hysteresis.max_g:.12g} {unit}"),
        ("between the curves", f"{gap.difference_g:.4g} {unit} at {gap.load_g:.6g} {unit}"),
    ]
    return "\n".join([*table, "", report.figure_lines(figures)])


def _joined(results: dict[str, Any], remark: str, *parts: str) -> str:
    title = report.title_line(results, remark)
    return "\n\n".join([title, *parts, *report.doubt_lines(results), report.point_lines(results)])
