"""What the bench commands share: the scale they work on, what it is held against, and the lines they print."""

import argparse
import sys
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from scalewright.command_line.numbers import number
from scalewright.errors import InputError
from scalewright.procedures.adjustment import division_from
from scalewright.procedures.calibration import NotTested
from scalewright.procedures.faults import Suspicion
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.range_check import Step, worst
from scalewright.records import DEFAULT_FILE
from scalewright.tolerances import AccuracyClass

STEP_HEADINGS = f"{'load g':>10} {'':4} {'indication g':>13} {'error g':>9} {'limit g':>9}"


def add_scale_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what every command at the bench needs."""
    parser.add_argument("--port", required=True, metavar="URL", help="device name or URL; virtual://bench: no hardware")
    parser.add_argument("--steps", type=whole_number, default=10, metavar="N", help="even loads up to Max (default 10)")
    parser.add_argument("--readings", type=whole_number, default=16, metavar="N", help="raw counts a load (default 16)")
    parser.add_argument("--class", dest="accuracy_class", default="III", choices=("I", "II", "III", "IIII"))
    add_records_arguments(parser)


def add_records_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare where the records are, and how the result is printed."""
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help="the journal to append to")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")


def whole_number(text: str) -> int:
    """Read a whole number from 1."""
    value = int(text)
    if value < 1:
        raise argparse.ArgumentTypeError("expected a whole number from 1")
    return value


def grams(text: str, option: str) -> Decimal:
    """Read a mass in grams above 0. Raises InputError naming the option."""
    value = number(text, option, low=0)
    if not value:
        raise InputError(f"{option} {text}; expected a mass in grams above 0")
    return value


def division(text: str) -> tuple[int, int]:
    """Read a division as (mantissa, power of ten): 1, 2 or 5 times a power of ten. Raises InputError."""
    return division_from(grams(text, "--division"), f"--division {text}")


def limits_for(name: str, e_g: Fraction, max_g: Decimal) -> AccuracyClass:
    """Return the class to test against, saying on stderr where Max and e do not make a scale of it.

    Raises InputError where the class has no limit at Max: better before the first load than at the last.
    """
    limits = AccuracyClass(name, e_g)
    limits.permissible_error_g(Fraction(max_g))
    for objection in limits.objections(Fraction(max_g)):
        print(f"scalewright: not a scale of class {name}: {objection}", file=sys.stderr)
    return limits


def step_line(step: Step) -> str:
    """Return one step of a check as a line of the table under STEP_HEADINGS."""
    verdict = "pass" if step.passes else "FAIL"
    return (
        f"{step.load_g:>10} {step.direction:4} {step.indication_g:>13} "
        f"{float(step.error_g):>+9.3f} {float(step.limit_g):>9.3f}  {verdict}"
    )


def steps_as_json(steps: Sequence[Step]) -> list[dict[str, Any]]:
    """Return the steps with numbers as numbers, for --json."""
    return [
        {
            "load_g": float(step.load_g),
            "direction": step.direction,
            "indication_g": float(step.indication_g),
            "error_g": float(step.error_g),
            "limit_g": float(step.limit_g),
            "passes": step.passes,
        }
        for step in steps
    ]


Found = tuple[Any, ...] | None
"""What a calibration found before the adjustment: its first test is that of the range."""


def found_line(found: Found) -> str:
    """Return in one line how the scale was found."""
    if not found:
        return "As found: not tested."
    if isinstance(found[0], NotTested):
        return f"As found: could not be tested; {found[0].reason}"
    nearest = worst(found[0])
    verdict = "passed" if all(step.passes for step in found[0]) else "FAILED"
    return (
        f"As found it {verdict}; worst at {nearest.load_g} g: "
        f"error {float(nearest.error_g):+.3f} g, limit {float(nearest.limit_g):.3f} g."
    )


def found_as_json(found: Found) -> dict[str, Any] | None:
    """Return how the scale was found, for --json."""
    if not found:
        return None
    if isinstance(found[0], NotTested):
        return {"reason": found[0].reason}
    return {"steps": steps_as_json(found[0]), "passes": all(step.passes for step in found[0])}


def outcome_line(outcome: Outcome) -> str:
    """Return what a test found beside its limit, as a line."""
    verdict = "pass" if outcome.passes else "FAIL"
    figures = f"{float(outcome.value):>+12.4g} {float(outcome.limit):>10.4g} {outcome.unit}"
    return f"{outcome.stage:36.36} {outcome.what:36.36} {figures:26} {verdict}"


def outcomes_as_json(outcomes: Sequence[Outcome]) -> list[dict[str, Any]]:
    """Return what tests found, for --json."""
    return [
        {
            "stage": outcome.stage,
            "what": outcome.what,
            "value": float(outcome.value),
            "limit": float(outcome.limit),
            "unit": outcome.unit,
            "source": outcome.source,
            "passes": outcome.passes,
        }
        for outcome in outcomes
    ]


def tell_suspicions(found: Sequence[Suspicion]) -> None:
    """Print the faults that results point to, and what to check; nothing where there are none."""
    for suspicion in found:
        print(suspicion)


def suspicions_as_json(found: Sequence[Suspicion]) -> list[dict[str, str]]:
    """Return the faults that results point to, for --json."""
    return [{"fault": one.fault, "seen": one.seen, "check": one.check} for one in found]
