"""`scalewright demo`: the whole job on the virtual scale, then the same arithmetic on a published calibration."""

import argparse
from decimal import Decimal

from scalewright.command_line.bench import STEP_HEADINGS, step_line
from scalewright.command_line.carry_out import carry_out
from scalewright.examples.pontius import pontius_comparison
from scalewright.link.scale import Scale
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.scale_under_test import Held
from scalewright.records.journal import Journal
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import decode, identity

# An invented scenario: the bench scale of a seed store, in which packets are weighed out.
SCENARIO = "Invented scenario: bench scale PLOVER of a seed store, Max 3 kg, d = e = 1 g, class III"
SCALE_URL = "virtual://plover?seed=1729&serial=PLOVER&speed=0"
DESIGN = ScaleDesign(max_g=Decimal(3000), division=(1, 0), degree=3)
LIMITS = AccuracyClass("III", DESIGN.division_g)
LOADS = 10
READINGS = 16


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--records", default="demo_records.sqlite", metavar="FILE", help="the journal to append to")


def run(arguments: argparse.Namespace) -> int:
    """Run both halves. Exit code 1 where a step fails, the journal does not hold, or a certified digit differs."""
    passed = _calibrate_a_virtual_scale(arguments.records)
    agreed = _fit_a_published_calibration()
    return 0 if passed and agreed else 1


def _calibrate_a_virtual_scale(records: str) -> bool:
    print(SCENARIO)
    loads = up_and_down(DESIGN.max_g, LOADS)
    plan = Calibration(
        Held(LIMITS, readings=READINGS),
        as_found=(RangeCheck(loads),),
        adjustment=MultiPoint(DESIGN, loads, READINGS),
        as_left=(RangeCheck(loads),),
    )
    with Scale.open(SCALE_URL) as scale, Journal(records) as journal:
        print(f"Connected to {scale.identity.model} {scale.identity.serial_number}, firmware {scale.identity.firmware}")
        print(f"\nAdjustment at zero and {LOADS} loads, up and down; then the check of every step as left", flush=True)
        job = carry_out(scale, journal, plan)
        adjusted, (steps,) = job.result.adjustment, job.result.as_left
        curve = decode(adjusted.coefficients).curve
        print(f"Curve of degree {len(curve.coefficients) - 1}, exact to 1/{curve.guaranteed_parts()} count or better")
        name = identity(adjusted.coefficients)
        print(f"Coefficients {name} stored in the device, read back and compared: the same")
        print(f"\nEvery step as left, against OIML R 76 class {LIMITS.name}")
        print(STEP_HEADINGS)
        for step in steps:
            print(step_line(step))
        verification = journal.verify()
    outcome = "holds" if verification.holds else f"DOES NOT HOLD: {verification.detail}"
    print(f"\nRecords in {records}: {verification.entries} entries, the chain {outcome}; last hash {verification.head}")
    return verification.holds and job.passed


def _fit_a_published_calibration() -> bool:
    print("\nThe same arithmetic on real data: the calibration of a load cell, certified by NIST (StRD, Pontius)")
    print(f"{'':20} {'computed here':>22} {'certified':>22}  agreeing digits")
    rows = pontius_comparison()
    for row in rows:
        print(f"{row.name:20} {row.ours:>22} {row.certified:>22}  {row.digits:.1f}")
    return all(row.digits >= 14 for row in rows)
