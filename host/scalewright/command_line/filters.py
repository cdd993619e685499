"""`scalewright filters`: what the device's filter and usual ones do to noise, steps and spikes, side by side."""

import argparse
import json
from typing import Any

from scalewright.analysis.filter_cases import generated, recorded
from scalewright.analysis.filter_comparison import BAND, SHARE, Settling, Verdict, judge
from scalewright.analysis.filters import filters
from scalewright.command_line.numbers import number
from scalewright.errors import InputError
from shared_calc.chain_state import LONGEST_MEAN

_EPILOG = f"""settled: from then on {SHARE:.0%} of the loads are within the band: {BAND:g} standard deviations of
the noise that the filter leaves, or half a division. (x 1.2): so many times the readings of the mean that is told when
the load changes and is as quiet; no filter can be sooner. at rest: by the device's own criterion. sigma: of the noise.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.epilog, parser.formatter_class = _EPILOG, argparse.RawDescriptionHelpFormatter
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("file", nargs="?", metavar="RECORDING", help="CSV with time_s,counts,temperature_c,load_g")
    which.add_argument("--generated", action="store_true", help="loads of many sizes, made up with white noise")
    parser.add_argument("--division", required=True, metavar="COUNTS", help="how many counts a division is")
    parser.add_argument("--longest", type=int, default=LONGEST_MEAN, metavar="N", help="the device's mean (default 32)")
    parser.add_argument("--noise", default="40", metavar="COUNTS", help="sigma of what is generated (default 40)")
    parser.add_argument("--loads", type=int, default=400, metavar="N", help="generated, of each kind (default 400)")
    parser.add_argument("--seed", type=int, default=1, help="of the generated noise (default 1)")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Compare and report."""
    division = float(number(arguments.division, "--division", 1, 1 << 23))
    if arguments.longest % 2 or not 2 <= arguments.longest <= 64:
        raise InputError(f"--longest {arguments.longest}; expected an even number from 2 to 64")
    if not 1 <= arguments.loads <= 10_000:
        raise InputError(f"--loads {arguments.loads}; expected 1 to 10000")
    if arguments.file:
        mixed = recorded(arguments.file)
        cases = {"recorded": mixed}
    else:
        cases, mixed = generated(float(number(arguments.noise, "--noise", 1, 1000)), arguments.loads, arguments.seed)
    verdicts = [judge(one, cases, mixed, division / 2) for one in filters(arguments.longest)]
    result = {
        "file": arguments.file,
        "division_counts": division,
        "loads": {case: len(loads.changes) for case, loads in cases.items()},
        "filters": [_as_json(verdict) for verdict in verdicts],
    }
    print(json.dumps(result) if arguments.json else _report(verdicts))
    return 0


def _as_json(verdict: Verdict) -> dict[str, Any]:
    return {
        "name": verdict.name,
        "noise_reduction": verdict.noise_reduction,
        "fixed_weights_readings": verdict.fixed_weights,
        "settled_to_noise": {case: _settling(settling) for case, settling in verdict.to_noise.items()},
        "settled_to_half_division": {case: _settling(settling) for case, settling in verdict.to_division.items()},
        "at_rest": verdict.at_rest,
        "false_at_rest": verdict.false_at_rest,
        "spike": verdict.spike,
    }


def _settling(settling: Settling) -> dict[str, Any]:
    return {"readings": settling.readings, "ideal_readings": settling.ideal, "ratio": settling.ratio}


def _report(verdicts: list[Verdict]) -> str:
    width = 22
    heading = "".join(f"{verdict.name:>{width}}" for verdict in verdicts)
    rows = [
        ("noise goes down by", [f"{verdict.noise_reduction:.2f}" for verdict in verdicts]),
        ("fixed weights: readings", [f"{verdict.fixed_weights}" for verdict in verdicts]),
        *((f"{case}, to noise", [_to_noise(v.to_noise[case]) for v in verdicts]) for case in verdicts[0].to_noise),
        *((f"{case}, to d/2", [_readings(v.to_division[case]) for v in verdicts]) for case in verdicts[0].to_division),
        ("at rest", [f"{verdict.at_rest:.1%}" for verdict in verdicts]),
        ("of which > d/2 off", [f"{verdict.false_at_rest:.3%}" for verdict in verdicts]),
        ("a spike moves it by", [f"{verdict.spike:.2%}" for verdict in verdicts]),
    ]
    lines = [f"{name:<30}" + "".join(f"{cell:>{width}}" for cell in cells) for name, cells in rows]
    return "\n".join([f"{'':30}{heading}", *lines])


def _to_noise(settling: Settling) -> str:
    return _readings(settling) + ("" if settling.ratio is None else f" (x {settling.ratio:.1f})")


def _readings(settling: Settling) -> str:
    return "never" if settling.readings is None else f"{settling.readings}"
