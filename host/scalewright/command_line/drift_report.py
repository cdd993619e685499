"""What `scalewright drift` prints and draws."""

from math import isfinite
from typing import Any

from scalewright.analysis.temperature import Effects
from scalewright.command_line.creep import creep_line, term
from scalewright.command_line.recorded_scale import check_lines, checks_as_json
from scalewright.influence_limits import R76_RANGE_C
from scalewright.plots.chart import Chart, Series
from scalewright.tolerances import AccuracyClass
from shared_calc.temperature import PARTS_OF_A_DEGREE, Compensation

_HOUR_S = 3600.0


def results(
    file: str,
    found: Effects,
    left: Effects,
    compensation: Compensation,
    coefficients: bytes | None,
    limits: AccuracyClass | None,
) -> dict[str, Any]:
    """Return what the command prints with --json."""
    fit = found.fit
    noise = fit.conclusion.noise
    warm_up = fit.quantity("warm-up")
    return {
        "file": file,
        "duration_h": (fit.blocks.dwells[-1].end_s - fit.blocks.dwells[0].start_s) / _HOUR_S,
        "loads_g": fit.blocks.loads_g,
        "temperature_range_c": fit.range_c,
        "reference_c": fit.reference_c,
        "as_found": _effects(found, limits),
        "compensated": _effects(left, limits),
        "quadratic": {
            kind: {"f": test.f if isfinite(test.f) else None, "p": test.p} for kind, test in fit.quadratic.items()
        },
        "creep": [term(fit, name) for name in fit.model.transients if name != "warm-up"],
        "warm_up_g": warm_up.value * found.g_per_count,
        "u_warm_up_g": warm_up.u * abs(found.g_per_count),
        "warm_up_time_constant_s": fit.time_constant("warm-up").value if fit.model.warm_up_s else None,
        "sensor_lag_s": _lag_s(found),
        "block_s": noise.block_s,
        "degrees_of_freedom": noise.degrees_of_freedom,
        "noise_has_levelled": noise.has_levelled,
        "compensation": _fields(compensation),
        "coefficients": None if coefficients is None else coefficients.hex(),
    }


def _effects(effects: Effects, limits: AccuracyClass | None) -> dict[str, Any]:
    zero, span = effects.zero_g_per_c(), effects.span_per_c()
    checks = effects.checks(limits) if limits else []
    return {
        "zero_g_per_c": zero.value,
        "u_zero_g_per_c": zero.u,
        "span_per_c": span.value,
        "u_span_per_c": span.u,
        "zero_degree": effects.fit.model.zero_degree,
        "span_degree": effects.fit.model.span_degree,
        "checks": checks_as_json(checks),
        "check_lines": check_lines(checks),
        "passes": all(check.passes for check in checks) if checks else None,
    }


def _lag_s(effects: Effects) -> float | None:
    """Return how late the thermometer is, where the zero tells it: its rate term over its slope."""
    slope, rate = effects.fit.quantity("zero 1"), effects.fit.quantity("zero rate")
    return rate.value / slope.value if abs(slope.value) > 5 * slope.u and abs(rate.value) > 3 * rate.u else None


def _fields(compensation: Compensation) -> dict[str, Any]:
    reference, low_c, high_c, zero_counts, z1, z2, s1, s2 = compensation.fields
    return {
        "reference_c": reference / PARTS_OF_A_DEGREE,
        "low_c": low_c,
        "high_c": high_c,
        "zero_counts": zero_counts,
        "z1": z1,
        "z2": z2,
        "s1": s1,
        "s2": s2,
    }


def report(shown: dict[str, Any]) -> str:
    """Return the results in words and tables."""
    low_c, high_c = shown["temperature_range_c"]
    loads = ", ".join(f"{load:g}" for load in shown["loads_g"])
    lines = [
        f"{shown['file']}: {shown['duration_h']:.1f} h, {low_c:.1f} to {high_c:.1f} C, loads {loads} g",
        "",
        f"{'':<32}{'as found':>14}{'compensated':>14}{'u (k = 1)':>12}",
        _row("zero, steepest, g/C", shown, "zero_g_per_c", 1.0, 5),
        _row("span, steepest, ppm/C", shown, "span_per_c", 1e6, 3),
        "",
        *(_quadratic(kind, test, shown) for kind, test in shown["quadratic"].items()),
        *map(creep_line, shown["creep"]),
        *_remarks(shown),
    ]
    for title, key in (("as found", "as_found"), ("with this compensation, in the same recording", "compensated")):
        if shown[key]["check_lines"]:
            lines += ["", f"{title}: {'passes' if shown[key]['passes'] else 'FAILS'}", *shown[key]["check_lines"]]
    fields = "  ".join(f"{name} {value:g}" for name, value in shown["compensation"].items())
    lines += ["", f"compensation  {fields}"]
    lines += [f"coefficients  {shown['coefficients']}"] if shown["coefficients"] else []
    return "\n".join(lines)


def _row(name: str, shown: dict[str, Any], key: str, factor: float, decimals: int) -> str:
    found, left = (shown[state][key] * factor for state in ("as_found", "compensated"))
    u = shown["as_found"][f"u_{key}"] * factor
    return f"{name:<32}{found:>+14.{decimals}f}{left:>+14.{decimals}f}{u:>12.{decimals}f}"


def _quadratic(kind: str, test: dict[str, Any], shown: dict[str, Any]) -> str:
    verdict = "taken" if shown["as_found"][f"{kind}_degree"] == 2 else "not worth it"
    f = "without end" if test["f"] is None else f"{test['f']:.3g}"
    return f"a quadratic {kind}: {verdict} (F = {f}, p = {test['p']:.2g})"


def _remarks(shown: dict[str, Any]) -> list[str]:
    low_c, high_c = shown["temperature_range_c"]
    remarks = []
    if shown["warm_up_time_constant_s"]:
        remarks.append(
            f"warms up by {shown['warm_up_g']:+.4f} g (u {shown['u_warm_up_g']:.2g}) "
            f"with a time constant of {shown['warm_up_time_constant_s']:.3g} s"
        )
    if shown["sensor_lag_s"] is not None:
        remarks.append(f"the thermometer is {shown['sensor_lag_s']:.3g} s late behind the zero of the cell")
    if not shown["noise_has_levelled"]:
        remarks.append("slow scatter is still growing over the longest blocks: soak longer to trust the uncertainties")
    if low_c > R76_RANGE_C[0] or high_c < R76_RANGE_C[1]:
        remarks.append(
            f"a scale without a marked range is for {R76_RANGE_C[0]} to {R76_RANGE_C[1]} C "
            "(OIML R 76-1:2006, 3.9.2.1); only the range that was recorded is judged here"
        )
    return remarks


def charts(effects: Effects) -> list[Chart]:
    """Return the zero and the error at load against temperature, and what the model leaves over time."""
    drawn = []
    for load in effects.fit.blocks.loads_g:
        seen_c, seen_g = effects.seen(load)
        course_c, course_g = effects.course(load)
        title = f"Error at {load:g} g, zero set" if load else "Zero"
        series = (
            Series("readings", seen_c.tolist(), seen_g.tolist()),
            Series("fit", course_c.tolist(), course_g.tolist(), is_line=True),
        )
        drawn.append(Chart(title, "temperature / °C", "change / g", series))
    hours = (effects.fit.blocks.middle_s / _HOUR_S).tolist()
    left = Series("residuals", hours, (effects.fit.conclusion.residuals * effects.g_per_count).tolist())
    return [*drawn, Chart("What temperature and creep leave", "time since switch-on / h", "residual / g", (left,))]
