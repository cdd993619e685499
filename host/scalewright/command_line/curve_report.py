"""What every curve that `scalewright analyse` fits is reported by: its points, coefficients and doubts."""

import os
import textwrap
from collections.abc import Sequence
from fractions import Fraction
from math import isfinite
from typing import Any

from scalewright.analysis.fit_points import RESPONSES, FitPoints
from scalewright.analysis.screening import Outlier

WIDTH = 90
_SUFFIXES = {"counts": "counts", "load": "g"}


def suffix(response: str) -> str:
    """Return how the names of figures in the unit of the response end."""
    return _SUFFIXES[response]


def heading(points: FitPoints) -> dict[str, Any]:
    """Return what identifies a fit; `_g` and `_counts` stand for the units named in load_unit and counts_unit."""
    return {
        "file": points.observations.file,
        "load_unit": points.observations.load_unit,
        "counts_unit": points.observations.counts_unit,
        "response": points.response,
        "zero": points.zero,
        "zero_counts": float(points.zero_counts),
        "number_of_points": len(points.x),
    }


def unit_of(points: FitPoints, power: int) -> str:
    """Return the unit of the coefficient of that power."""
    units = {"counts": points.observations.counts_unit, "load": points.observations.load_unit}
    y, x = units[points.response], units[RESPONSES[1 - RESPONSES.index(points.response)]]
    return y + (f" / {x}" if power else "") + (f"^{power}" if power > 1 else "")


def points_with(points: FitPoints, residuals: Sequence[Fraction | float]) -> list[dict[str, Any]]:
    """Return each point beside its residual."""
    return [
        {
            "line": line,
            "direction": point.direction,
            "load_g": float(point.load_g),
            "counts": float(point.counts),
            f"residual_{suffix(points.response)}": float(residual),
        }
        for line, point, residual in zip(points.observations.lines, points.observations.points, residuals, strict=True)
    ]


def outliers_as_json(found: Sequence[Outlier]) -> list[dict[str, Any]]:
    """Return the outliers; studentised is null where the other points leave no scatter at all."""
    return [
        {
            "line": outlier.line,
            "studentised_residual": outlier.studentised if isfinite(outlier.studentised) else None,
            "p": outlier.p,
            "sentence": str(outlier),
        }
        for outlier in found
    ]


def title_line(results: dict[str, Any], remark: str) -> str:
    """Return the first line of a report."""
    return f"{os.path.basename(results['file'])}: {results['number_of_points']} points, {remark}"


def curve_lines(results: dict[str, Any], coefficients: Sequence[dict[str, Any]], name: str, key: str) -> str:
    """Return the equation and the table of its coefficients. name: of the response; key: of what is stated of each."""
    x = "load" if results["response"] == "counts" else "counts"
    net = " - zero" if results["zero"] == "observed" else ""
    y, x = (f"({word}{net})" if net and word == "counts" else word for word in (name, x))
    terms = [f"c{c['power']} {x}^{c['power']}" for c in coefficients]
    sum_of_terms = " + ".join(terms).replace(f" {x}^0", "").replace(f"{x}^1", x)
    lines = [f"{y} = {sum_of_terms}", "", f"{'':4}{'value':>24}{key.replace('_', ' '):>22}  unit"]
    lines += [f"c{c['power']:<3}{c['value']:>24}{figure(c[key]):>22}  {c['unit']}" for c in coefficients]
    return "\n".join(lines)


def point_lines(results: dict[str, Any]) -> str:
    """Return the table of points and residuals."""
    residual = f"residual_{suffix(results['response'])}"
    lines = [f"{'line':>6}  {'':4}{'load':>16}{'counts':>16}{'residual':>14}"]
    lines += [
        f"{p['line']:>6}  {p['direction']:4}{p['load_g']:>16.15g}{p['counts']:>16.15g}{p[residual]:>14.4g}"
        for p in results["points"]
    ]
    return "\n".join(lines)


def figure_lines(figures: Sequence[tuple[str, object]]) -> str:
    """Return names beside values."""
    return "\n".join(f"{name:<29}{value}" for name, value in figures)


def doubt_lines(results: dict[str, Any]) -> list[str]:
    """Return the section that says what to look at, where there is something."""
    return sentences("Look at:", [*results["warnings"], *(outlier["sentence"] for outlier in results["outliers"])])


def sentences(title: str, found: Sequence[str]) -> list[str]:
    """Return a section of sentences, wrapped; none where there are none."""
    if not found:
        return []
    wrapped = [textwrap.fill(s, WIDTH, initial_indent="  - ", subsequent_indent="    ") for s in found]
    return ["\n".join([title, *wrapped])]


def figure(value: float | None, *, digits: int = 6, unit: str = "") -> str:
    """Return a figure as text, "undefined" where the points leave it so."""
    return "undefined" if value is None else f"{value:.{digits}g} {unit}".rstrip()
