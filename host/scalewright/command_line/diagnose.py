"""`scalewright diagnose`: what the device makes of its counts, and what to check, in order."""

import argparse
import json
from dataclasses import asdict

READINGS = 66
"""That many the device looks back upon, and a little more."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--port", metavar="PORT", required=True, help="device name or URL, as `scalewright ports` says")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")


def run(arguments: argparse.Namespace) -> int:
    """Listen to some readings, ask and explain. Exit code 1 where something is wrong."""
    from scalewright.link.diagnosis import DeviceDiagnosis
    from scalewright.link.scale import Scale

    with Scale.open(arguments.port) as scale:
        for number in range(READINGS):
            if scale.read().counts is None and number > 2:  # a silent ADC says so once a second
                break
        diagnosis = DeviceDiagnosis.read(scale)
    if arguments.json:
        print(json.dumps(asdict(diagnosis)))
    else:
        for finding in diagnosis.findings:
            print(f"{finding.name}: {finding.meaning}. Check, in this order:")
            print("\n".join(f"  {number}. {check}" for number, check in enumerate(finding.checks, 1)))
        print(f"noise {diagnosis.noise_counts} counts; since its start {diagnosis.smallest_counts} "
              f"to {diagnosis.largest_counts} counts")  # fmt: skip
        if not diagnosis.findings:
            print("no fault is seen")
    return 1 if diagnosis.findings else 0
