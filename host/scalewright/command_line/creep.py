"""`scalewright creep`: how an indication creeps under a load, and how the zero comes back."""

import argparse
import json
from fractions import Fraction
from typing import Any

from scalewright.analysis.creep import CreepTest, cell_checks, creep_test, scale_checks
from scalewright.analysis.drift import DriftFit, fit_transients
from scalewright.analysis.grams import curve_in_grams, straight_scale
from scalewright.analysis.soak_file import read_soak
from scalewright.analysis.temperature import compensated
from scalewright.command_line.numbers import number
from scalewright.command_line.plotting import add_plot_arguments, draw
from scalewright.command_line.recorded_scale import (
    add_recorded_scale_arguments,
    check_lines,
    checks_as_json,
    limits_of,
    read_coefficients,
)
from scalewright.errors import InputError
from scalewright.influence_limits import CellClass, Check
from scalewright.plots.chart import Chart, Series

_STEADY_C = 2.0  # OIML R 60-2:2021, 2.7.3.1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_recorded_scale_arguments(parser)
    parser.add_argument("--cell", metavar="CLASS", help="hold it against OIML R 60 instead: A, B, C or D")
    parser.add_argument("--capacity", metavar="G", help="of the load cell, with --cell")
    parser.add_argument("--intervals", type=int, metavar="N", help="verification intervals of the cell, with --cell")
    add_plot_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Report creep and zero return. Exit code 1 where a limit is not kept."""
    settle_s = float(number(arguments.settle, "--settle", 0))
    record = read_coefficients(arguments.coefficients)
    soak = read_soak(arguments.file)
    if record and record.compensation:
        soak = compensated(soak, record.compensation)
    test = creep_test(soak, curve_in_grams(record) if record else straight_scale(soak), settle_s)
    checks = _checks(arguments, test, record)
    results = _results(arguments.file, test, fit_transients(soak, settle_s), checks)
    print(json.dumps(results) if arguments.json else _report(results, checks))
    draw([_chart(test, checks)], arguments)
    return 1 if results["passes"] is False else 0


def _checks(arguments: argparse.Namespace, test: CreepTest, record: Any) -> list[Check]:
    if arguments.cell is None:
        limits = limits_of(arguments, record)
        return scale_checks(test, limits) if limits else []
    if arguments.capacity is None or arguments.intervals is None:
        raise InputError("--cell needs --capacity and --intervals: they make the cell's verification interval")
    capacity_g = Fraction(number(arguments.capacity, "--capacity", 0))
    return cell_checks(test, CellClass(arguments.cell, capacity_g, arguments.intervals))


def _results(file: str, test: CreepTest, fit: DriftFit, checks: list[Check]) -> dict[str, Any]:
    back = test.zero_return()
    return {
        "file": file,
        "load_g": test.load_g,
        "minutes": float(test.minutes[-1]),
        "temperature_range_c": test.temperature_range_c,
        "creep_30_min_g": test.change(0, 30).value,
        "u_creep_g": test.change(0, 30).u,
        "zero_return_g": None if back is None else back.value,
        "terms": [term(fit, name) for name in fit.model.transients if name != "warm-up"],
        "checks": checks_as_json(checks),
        "passes": all(check.passes for check in checks) if checks else None,
    }


def term(fit: DriftFit, name: str) -> dict[str, float]:
    """Return one creep term for --json."""
    share, constant = fit.quantity(name), fit.time_constant(name)
    return {
        "share_of_load": share.value,
        "u_share_of_load": share.u,
        "time_constant_s": constant.value,
        "u_time_constant_s": constant.u,
    }


def _report(results: dict[str, Any], checks: list[Check]) -> str:
    lines = [
        f"{results['file']}: {results['load_g']:g} g for {results['minutes']:.0f} min",
        f"creep in 30 min {results['creep_30_min_g']:+.4f} g, u = {results['u_creep_g']:.2g} g (k = 1)",
    ]
    if results["zero_return_g"] is not None:
        lines.append(f"zero return     {results['zero_return_g']:+.4f} g")
    lines += map(creep_line, results["terms"])
    low_c, high_c = results["temperature_range_c"] or (0.0, 0.0)
    if high_c - low_c > _STEADY_C:
        lines.append(f"the temperature went from {low_c:.1f} to {high_c:.1f} C: that is in the figures too")
    if not checks:
        lines.append("no limits: give --division and --class, --coefficients, or --cell")
    return "\n".join([*lines, *check_lines(checks), *(["passes" if results["passes"] else "FAILS"] if checks else [])])


def creep_line(term: dict[str, float]) -> str:
    """Return one creep term as a line."""
    return (
        f"creeps by {term['share_of_load'] * 1e6:.1f} ppm of the load (u {term['u_share_of_load'] * 1e6:.1f}) "
        f"with a time constant of {term['time_constant_s']:.3g} s (u {term['u_time_constant_s']:.2g})"
    )


def _chart(test: CreepTest, checks: list[Check]) -> Chart:
    change_g = test.indication_g - test.indication_g[0]
    limit_g = float(checks[0].limit.limit_g) if checks else 0.0
    limits = (-limit_g, limit_g) if checks else ()
    return Chart(
        f"Creep under {test.load_g:g} g",
        "time since loading / min",
        "change / g",
        (Series("means of 10 s", test.minutes.tolist(), change_g.tolist()),),
        limits,
    )
