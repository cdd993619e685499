"""What a control chart of daily checks says, in words: the same wherever it is read."""

from scalewright.analysis.chart_rules import Signal
from scalewright.analysis.control_chart import ControlChart
from scalewright.scale_history import LoadChart


def verdict_of(chart: ControlChart) -> str:
    """Return whether the newest check is in control, and if not, by which rules."""
    if not chart.newest_signals:
        return "in control"
    return "OUT OF CONTROL: " + ", ".join(f"{signal.rule} ({signal.side})" for signal in chart.newest_signals)


def signal_line(signal: Signal, load_chart: LoadChart) -> str:
    """Return when a signal was, which rule it is, and what it means at the bench."""
    first, last = (load_chart.checks[signal.points[end]].at.date() for end in (0, -1))
    when = f"{first}" if len(signal.points) == 1 else f"{first} to {last}"
    return f"{when}  {signal.rule}, {signal.side}: {signal.meaning}"
