"""What `scalewright history` prints."""

from collections.abc import Iterator, Sequence
from textwrap import fill
from typing import Any

from scalewright.analysis.as_found_drift import Drift, ErrorAtLoad, K
from scalewright.analysis.control_chart import LEAST_CHECKS
from scalewright.certificates.rounding import rounded, to_place
from scalewright.history_words import signal_line, verdict_of
from scalewright.scale_history import LoadChart, PastCalibration, Period, ScaleHistory

_COLUMNS = 100
_HEADINGS = (
    f"{'load g':>10} {'':4} {'as left g':>12} {'as found g':>12} {'drift g':>12} "
    f"{'U (k=2) g':>11} {'g a year':>11} {'En':>6}"
)


def results(scale: str, history: ScaleHistory, charts: Sequence[LoadChart]) -> dict[str, Any]:
    """Return what the command prints with --json."""
    proposal = history.proposal
    return {
        "scale": scale,
        "calibrations": [_calibration(calibration) for calibration in history.calibrations],
        "periods": [_period(period) for period in history.periods],
        "charts": [_chart(chart) for chart in charts],
        "proposals": [_proposal(each) for each in history.proposals],
        "proposed_due": proposal and proposal.due.isoformat(),
        "in_order": all(chart.is_in_order for chart in charts),
    }


def _calibration(calibration: PastCalibration) -> dict[str, Any]:
    return {
        "job": calibration.job,
        "on": calibration.on.isoformat(),
        "adjusted": calibration.is_adjusted,
        "as_found": [_error(error) for error in calibration.found],
        "as_left": [_error(error) for error in calibration.left],
    }


def _error(error: ErrorAtLoad) -> dict[str, Any]:
    return {
        "load_g": error.load_g,
        "direction": error.direction,
        "error_g": error.error_g,
        "u_error_g": error.u_g,
        "limit_g": error.limit_g,
    }


def _period(period: Period) -> dict[str, Any]:
    drifts = [
        {
            "load_g": drift.found.load_g,
            "direction": drift.found.direction,
            "as_left_g": drift.left.error_g,
            "as_found_g": drift.found.error_g,
            "drift_g": drift.drift_g,
            "u_drift_g": drift.u_drift_g,
            "drift_g_per_year": drift.per_year_g,
            "en": drift.en,
            "significant": drift.is_significant,
        }
        for drift in period.drifts
    ]
    return {
        "from": period.before.on.isoformat(),
        "to": period.after.on.isoformat(),
        "drifts": drifts,
        "out_of_tolerance": bool(period.doubt),
        "doubt": period.doubt,
    }


def _chart(load_chart: LoadChart) -> dict[str, Any]:
    chart = load_chart.chart
    shown: dict[str, Any] = {
        "load_g": load_chart.load_g,
        "checks": [
            {"job": check.job, "at": check.at.isoformat(), "error_g": check.error_g} for check in load_chart.checks
        ],
        "tolerance_g": load_chart.checks[-1].limit_g,
        "in_order": load_chart.is_in_order,
    }
    if chart is None:
        return shown | {"base_line": None, "signals": []}
    base = {"mean_g": chart.base.mean, "sd_g": chart.base.sd, "source": chart.base.source}
    return shown | {
        "base_line": base,
        "lower_control_limit_g": chart.limits[0],
        "upper_control_limit_g": chart.limits[1],
        "ewma_g": chart.averages,
        "ewma_half_width_g": chart.half_widths,
        "signals": [{**vars(signal), "newest": signal in chart.newest_signals} for signal in chart.signals],
        "beyond_tolerance": chart.beyond_tolerance,
    }


def _proposal(proposal: Any) -> dict[str, str]:
    return {"due": proposal.due.isoformat(), "method": proposal.method, "reason": proposal.reason}


def report(scale: str, history: ScaleHistory, charts: Sequence[LoadChart]) -> str:
    """Return the history in words and tables."""
    lines = [f"{scale}: {len(history.calibrations)} calibrations, {len(history.checks)} results of daily checks"]
    if history.periods:
        lines += ["", *map(_period_line, history.periods[:-1]), *_last_period(history.periods[-1])]
    for chart in charts:
        lines += ["", *_chart_lines(chart)]
    return "\n".join(fill(line, _COLUMNS, subsequent_indent="    ") for line in [*lines, "", *_due_lines(history)])


def _period_line(period: Period) -> str:
    """Return an earlier period in a line."""
    span = f"drift from {period.before.on} to {period.after.on}"
    if not period.drifts:
        return f"{span}: no load that both calibrations have"
    most = max(period.drifts, key=lambda drift: abs(drift.en))
    where = f"{most.found.load_g:g} g {most.found.direction}".rstrip()
    verdict = "; found out of tolerance" if period.doubt else ""
    return f"{span}: at most {most.drift_g:+.3g} g at {where}, En {most.en:+.2f}{verdict}"


def _last_period(period: Period) -> Iterator[str]:
    yield f"drift from {period.before.on} to {period.after.on}, {(period.after.on - period.before.on).days} days"
    if not period.drifts:
        yield "  no load that both calibrations have"
        return
    yield _HEADINGS
    yield from map(_drift_line, period.drifts)
    if period.doubt:
        yield f"CAUTION {period.doubt}"


def _drift_line(drift: Drift) -> str:
    figures = rounded(drift.drift_g, K * drift.u_drift_g)
    found, left = (to_place(error.error_g, figures.expanded_u) for error in (drift.found, drift.left))
    verdict = "significant" if drift.is_significant else ""
    return (
        f"{drift.found.load_g:>10g} {drift.found.direction:4} {left:>+12} {found:>+12} {figures.value:>+12} "
        f"{figures.expanded_u:>11} {drift.per_year_g:>+11.3g} {drift.en:>+6.2f}  {verdict}"
    ).rstrip()


def _chart_lines(load_chart: LoadChart) -> Iterator[str]:
    checks, chart = load_chart.checks, load_chart.chart
    newest = checks[-1]
    yield f"daily checks at {load_chart.load_g:g} g since the last change of coefficients: {len(checks)}"
    tolerance = "no tolerance" if newest.limit_g is None else f"tolerance +-{newest.limit_g:g} g"
    verdict = "" if newest.is_within else ": OUTSIDE its tolerance"
    if chart is None:
        yield f"  newest {newest.error_g:+.3g} g, {tolerance}{verdict}; a chart takes {LEAST_CHECKS} that differ"
        return
    low, high = chart.limits
    yield f"  base line ({chart.base.source}): mean {chart.base.mean:+.3g} g, sd {chart.base.sd:.3g} g"
    yield f"  control limits {low:+.3g} to {high:+.3g} g: what is usual; {tolerance}: what is permitted"
    if chart.scatters_beyond_tolerance:
        yield "  a control limit lies outside the tolerance: checks can fail though nothing has changed"
    yield f"  newest {newest.error_g:+.3g} g{verdict}; {verdict_of(chart)}"
    for signal in chart.signals:
        yield f"  {signal_line(signal, load_chart)}"


def _due_lines(history: ScaleHistory) -> Iterator[str]:
    chosen = history.proposal
    if chosen is None:
        yield "next calibration: now, for there is none in these records"
        return
    yield f"next calibration: by {chosen.due}, the earliest of"
    for proposal in history.proposals:
        yield f"  {proposal.due}  {proposal.method}: {proposal.reason}"
