"""What a scale's history says, as a text: its checks, its drift, and when it is due next."""

from collections.abc import Iterator

from textual.content import Content

from scalewright.analysis.as_found_drift import Drift, K
from scalewright.analysis.chart_rules import Signal
from scalewright.analysis.control_chart import LEAST_CHECKS, ControlChart
from scalewright.certificates.rounding import rounded
from scalewright.history_words import signal_line, verdict_of
from scalewright.scale_history import LoadChart, Period, ScaleHistory
from scalewright.terminal.facts import heading, stated


def facts_of(history: ScaleHistory, charts: list[LoadChart]) -> list[Content]:
    """Return the lines of the text."""
    lines: list[Content] = []
    for chart in charts:
        lines += [*_checks(chart), Content("")]
    for period in history.periods[::-1]:
        lines += [*_period(period), Content("")]
    return [*lines, *_due(history)]


def _checks(load_chart: LoadChart) -> Iterator[Content]:
    newest = load_chart.checks[-1]
    yield heading(f"daily checks at {load_chart.load_g:g} g, since the coefficients were last changed")
    permitted = "nothing is stated" if newest.limit_g is None else f"±{newest.limit_g:g} g"
    within = "✓ within" if newest.is_within else "! OUTSIDE"
    checks = f"{len(load_chart.checks)}, the newest {newest.error_g:+.3f} g on {newest.at.date()}"
    yield from stated(("checks", checks), ("permitted", f"{permitted}: {within}"))
    if load_chart.chart is None:
        yield Content(f"A control chart takes {LEAST_CHECKS} checks that differ.")
    else:
        yield from _signals(load_chart, load_chart.chart)


def _signals(load_chart: LoadChart, chart: ControlChart) -> Iterator[Content]:
    low, high = chart.limits
    yield from stated(("usual", f"{low:+.3f} to {high:+.3f} g ({chart.base.source})"))
    sign, style = ("!", "bold $error") if chart.newest_signals else ("✓", "bold $success")
    yield Content.styled(f"{sign} {verdict_of(chart)}", style)
    for signal in _by_rule(chart):
        yield Content.styled(f"▲ {signal_line(signal, load_chart)}", "$accent")
    if chart.scatters_beyond_tolerance:
        yield Content.styled("What is usual is more than what is permitted: checks can fail by chance.", "$accent")


def _by_rule(chart: ControlChart) -> list[Signal]:
    """Return the signals with what one rule found on one side as one: its advice is needed once."""
    points: dict[tuple[str, str, str], set[int]] = {}
    for signal in chart.signals:
        points.setdefault((signal.rule, signal.side, signal.meaning), set()).update(signal.points)
    return [Signal(rule, tuple(sorted(found)), side, meaning) for (rule, side, meaning), found in points.items()]


def _period(period: Period) -> Iterator[Content]:
    yield heading(f"drift from {period.before.on}, as left, to {period.after.on}, as found")
    if not period.drifts:
        yield Content("No load is in both calibrations.")
        return
    yield Content.styled(f"{'load, g':>9} {'':5}{'drift, g':>9}{'U, g':>8}{'g a year':>10}", "$secondary")
    yield from map(_drift_line, period.drifts)
    if period.doubt:
        yield Content.styled(f"! {period.doubt[0].upper()}{period.doubt[1:]}.", "bold $error")


def _drift_line(drift: Drift) -> Content:
    figures = rounded(drift.drift_g, K * drift.u_drift_g)
    words, style = ("  ! significant", "bold $accent") if drift.is_significant else ("  within U", "$secondary")
    text = f"{drift.found.load_g:>9g} {drift.found.direction:5}{figures.value:>+9}{figures.expanded_u:>8}"
    return Content.assemble(f"{text}{drift.per_year_g:>+10.2g}", (words, style))


def _due(history: ScaleHistory) -> Iterator[Content]:
    yield heading("next calibration")
    chosen = history.proposal
    if chosen is None:
        yield Content.styled("! now: there is none in these records", "bold $accent")
        return
    yield Content.styled(f"by {chosen.due}, the earliest of", "bold")
    for proposal in history.proposals:
        yield Content(f"{proposal.due}  {proposal.method}: {proposal.reason}")
