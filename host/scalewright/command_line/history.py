"""`scalewright history`: how a scale drifted, what its daily checks say, and when to calibrate it next."""

import argparse
import json

from scalewright.analysis.chart_rules import RULES, WESTERN_ELECTRIC
from scalewright.analysis.control_chart import DEFAULT_RULES, LEAST_CHECKS, USUAL_CHECKS, stated_base_line
from scalewright.analysis.recalibration_interval import IntervalRules
from scalewright.command_line.history_report import report, results
from scalewright.command_line.numbers import number
from scalewright.command_line.plotting import add_plot_arguments, draw
from scalewright.errors import InputError
from scalewright.plots.history import control_charts, error_chart
from scalewright.records import DEFAULT_FILE

RULE_SETS = {"usual": DEFAULT_RULES, "western-electric": WESTERN_ELECTRIC, "all": tuple(RULES)}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--scale", required=True, metavar="KEY", help="the scale, by its key in the register")
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help="records file, or URL")
    parser.add_argument(
        "--base", type=int, default=USUAL_CHECKS, metavar="N", help=f"checks in the base line (default {USUAL_CHECKS})"
    )
    parser.add_argument("--mean", metavar="G", help="a base line known from elsewhere, in place of the first checks")
    parser.add_argument("--sd", metavar="G", help="its standard deviation")
    parser.add_argument(
        "--rules",
        choices=RULE_SETS,
        default="usual",
        help="usual: 3 standard deviations; western-electric: its four, a false alarm in 92 checks; all: trends too. "
        "The moving average (EWMA) always watches",
    )
    usual = IntervalRules()
    ladder = ",".join(map(str, usual.ladder_months))
    parser.add_argument("--intervals", default=ladder, metavar="M[,M]", help=f"in months, rising (default {ladder})")
    parser.add_argument(
        "--first", type=int, default=usual.first_months, metavar="M", help="interval of a scale registered without one"
    )
    parser.add_argument(
        "--within",
        type=float,
        default=usual.lengthen_within,
        metavar="SHARE",
        help=f"of the limit: found within it, the interval grows (default {usual.lengthen_within:g})",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    add_plot_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Report. Exit code 1 where the newest check is outside its tolerance, or out of the ordinary."""
    from scalewright.records.history import read_history
    from scalewright.records.journal import Journal

    if (arguments.mean is None) != (arguments.sd is None):
        raise InputError("--mean and --sd go together")
    if arguments.base < LEAST_CHECKS:
        raise InputError(f"--base {arguments.base}; expected {LEAST_CHECKS} or more")
    base = None
    if arguments.mean is not None:
        base = stated_base_line(float(number(arguments.mean, "--mean")), float(number(arguments.sd, "--sd", 0)))
    rules = IntervalRules(_months(arguments.intervals), arguments.first, arguments.within)
    with Journal(arguments.records, read_only=True) as journal:
        history = read_history(journal, arguments.scale, rules)
    charts = history.charts(arguments.base, base, RULE_SETS[arguments.rules])
    if arguments.json:
        print(json.dumps(results(arguments.scale, history, charts)))
    else:
        print(report(arguments.scale, history, charts))
    drawn = [*error_chart(history.calibrations), *(drawn for chart in charts for drawn in control_charts(chart))]
    if drawn:
        draw(drawn, arguments)
    return 0 if all(chart.is_in_order for chart in charts) else 1


def _months(text: str) -> tuple[int, ...]:
    return tuple(int(number(part, "--intervals", 1, 120)) for part in text.split(","))
