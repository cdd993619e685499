"""The options with which a command draws what it found, the same for every command."""

import argparse
import os
import sys
from collections.abc import Sequence
from typing import Any

from scalewright.command_line.curve_report import suffix
from scalewright.plots.chart import Chart, Series


def add_plot_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare --plot, --plot-terminal and --ascii."""
    parser.add_argument("--plot", metavar="FILE", help="draw into FILE, an .svg or a .png")
    parser.add_argument("--plot-terminal", action="store_true", help="draw as text")
    parser.add_argument("--ascii", action="store_true", help="draw with ASCII characters only")


def draw(charts: Sequence[Chart], arguments: argparse.Namespace) -> None:
    """Draw what was asked for; text goes to stderr where stdout holds JSON."""
    if arguments.plot:
        from scalewright.plots.picture import write_picture

        write_picture(charts, arguments.plot)
    if arguments.plot_terminal:
        from scalewright.plots.text import render_text

        out = sys.stderr if getattr(arguments, "json", False) else sys.stdout
        is_ascii = arguments.ascii or "utf" not in (out.encoding or "").lower()
        print("\n" + "\n\n".join(render_text(chart, is_ascii=is_ascii) for chart in charts), file=out)


def residual_chart(results: dict[str, Any]) -> Chart:
    """Return the residuals of a fitted curve over the load; results: what `scalewright analyse` gives as JSON."""
    key = f"residual_{suffix(results['response'])}"
    unit = results["counts_unit"] if results["response"] == "counts" else results["load_unit"]
    points = results["points"]
    series = []
    for direction in dict.fromkeys(point["direction"] for point in points):
        mine = [point for point in points if point["direction"] == direction]
        loads, residuals = [point["load_g"] for point in mine], [point[key] for point in mine]
        series.append(Series(direction or "points", loads, residuals))
    title = f"Residuals of {os.path.basename(results['file'])}"
    return Chart(title, f"load / {results['load_unit']}", f"residual / {unit}", tuple(series))
