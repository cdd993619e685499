"""What the bench commands share: the scale they work on, who places the loads, and the lines they print."""

import argparse
import sys
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import Any, TypeVar

from scalewright.analysis.type_curve import TypeCurve
from scalewright.command_line.numbers import number
from scalewright.errors import DeviceFault, InputError
from scalewright.link.scale import Scale
from scalewright.procedures.adjustment import Adjustment, ScaleDesign, adjustment
from scalewright.procedures.job import Job, Journal
from scalewright.procedures.perform import VirtualOperator, perform
from scalewright.procedures.range_check import Step, range_check
from scalewright.procedures.requests import Answer, PlaceLoad, Request, StillReading
from scalewright.procedures.run import Run
from scalewright.procedures.trimming import Trimming, trimming
from scalewright.records import DEFAULT_FILE
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientError, decode
from shared_calc.temperature import Compensation

Result = TypeVar("Result")
STEP_HEADINGS = f"{'load g':>10} {'':4} {'indication g':>13} {'error g':>9} {'limit g':>9}"


class PersonAtTerminal:
    """Asks a person to place the loads. The questions go to stderr, so that results can be piped."""

    def place(self, load_g: Decimal) -> None:
        """Return when the person says so."""
        self._ask(f"put {load_g} g on the scale" if load_g else "clear the pan")

    def set_air(self, air_c: Decimal) -> None:
        """Return when the person says so."""
        self._ask(f"set the temperature of the air to {air_c} °C")

    def _ask(self, wanted: str) -> None:
        print(f"Please {wanted}, then press Enter. ", end="", file=sys.stderr, flush=True)
        if not sys.stdin.readline():
            raise KeyboardInterrupt


def operator_for(scale: Scale) -> VirtualOperator | PersonAtTerminal:
    """Return the virtual scale's own hand where the scale is virtual, else a person."""
    return VirtualOperator(scale) if scale.url.startswith("virtual:") else PersonAtTerminal()


def add_scale_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what every command at the bench needs."""
    parser.add_argument("--port", required=True, metavar="URL", help="device name or URL; virtual://bench: no hardware")
    parser.add_argument("--steps", type=_positive, default=10, metavar="N", help="even loads up to Max (default 10)")
    parser.add_argument("--readings", type=_positive, default=16, metavar="N", help="raw readings a load (default 16)")
    parser.add_argument("--class", dest="accuracy_class", default="III", choices=("I", "II", "III", "IIII"))
    parser.add_argument("--records", default=DEFAULT_FILE, metavar="FILE", help="the journal to append to")
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")


def _positive(text: str) -> int:
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
    _, digits, exponent = grams(text, "--division").normalize().as_tuple()
    if digits not in ((1,), (2,), (5,)) or not isinstance(exponent, int):
        raise InputError(f"--division {text}; expected 1, 2 or 5 times a power of ten (OIML R 76-1:2006, 3.2.1)")
    return digits[0], exponent


def limits_for(name: str, e_g: Fraction, max_g: Decimal) -> AccuracyClass:
    """Return the class to test against, saying on stderr where Max and e do not make a scale of it.

    Raises InputError where the class has no limit at Max: better before the first load than at the last.
    """
    limits = AccuracyClass(name, e_g)
    limits.permissible_error_g(Fraction(max_g))
    for objection in limits.objections(Fraction(max_g)):
        print(f"scalewright: not a scale of class {name}: {objection}", file=sys.stderr)
    return limits


class Progress:
    """Prints a line for every load that has been read, to stderr."""

    def __init__(self, loads: int) -> None:
        self._loads = loads
        self._done = 0
        self._load_g = Decimal(0)

    def show(self, request: Request, answer: Answer) -> None:
        """Take note of an answered request."""
        if isinstance(request, PlaceLoad):
            self._load_g = request.load_g
        if isinstance(answer, StillReading):
            self._done += 1
            counts = float(answer.mean_counts)
            print(f"  {self._done:>3} of {self._loads}  {self._load_g:>8} g  {counts:>12.1f} counts", file=sys.stderr)


def _compensation_in(scale: Scale) -> Compensation | None:
    """Return the temperature compensation that the scale has, which an adjustment keeps; None where it has none."""
    try:
        compensation: Compensation | None = decode(scale.read_coefficients()).compensation
    except (DeviceFault, CoefficientError):
        return None
    return compensation


def adjust(
    scale: Scale,
    journal: Journal,
    design: ScaleDesign,
    loads_g: Sequence[Decimal],
    readings: int,
    *,
    forget_compensation: bool = False,
) -> Adjustment:
    """Adjust the scale to known loads, and keep every answer and the result in the journal.

    Its compensation for temperature is kept, unless it is to be forgotten.
    """
    compensation = None if forget_compensation else _compensation_in(scale)
    facts = {"design": design, "loads_g": loads_g, "compensation": compensation and compensation.fields}
    job = Job(journal, "adjustment", device=scale.identity, **facts)
    result = _carry_out(Run(partial(adjustment, design, loads_g, readings, compensation)), scale, job, len(loads_g))
    job.end(result=result, device=scale.identity)
    return result


def trim(
    scale: Scale,
    journal: Journal,
    curve: TypeCurve,
    division: tuple[int, int],
    full: tuple[Decimal, Decimal],
    readings: int,
) -> Trimming:
    """Adjust the scale by its type's curve at zero and full load (and its u), and keep all of it in the journal."""
    compensation = _compensation_in(scale)
    facts = {"type_curve": curve, "division": division, "full_g": full[0], "u_full_g": full[1]}
    facts["compensation"] = compensation and compensation.fields
    job = Job(journal, "trimming", device=scale.identity, **facts)
    procedure = partial(trimming, curve, division, full[0], float(full[1]), readings, compensation)
    result = _carry_out(Run(procedure), scale, job, 2)
    job.end(result=result, device=scale.identity)
    return result


def check(
    scale: Scale, journal: Journal, limits: AccuracyClass, loads_g: Sequence[Decimal], readings: int
) -> tuple[Step, ...]:
    """Check each load against its limit, and keep every answer and the result in the journal."""
    job = Job(journal, "range_check", device=scale.identity, limits=limits, loads_g=loads_g)
    procedure = partial(range_check, scale.read_coefficients(), limits, loads_g, readings)
    steps = _carry_out(Run(procedure), scale, job, len(loads_g))
    job.end(result=steps, passed=all(step.passes for step in steps))
    return steps


def _carry_out(run: Run[Result], scale: Scale, job: Job, loads: int) -> Result:
    progress = Progress(loads)

    def keep(request: Request, answer: Answer) -> None:
        job.keep(request, answer)
        progress.show(request, answer)

    return perform(run, scale, operator_for(scale), keep)


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
