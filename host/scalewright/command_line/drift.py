"""`scalewright drift`: what temperature does to zero and span, and the compensation that takes it out."""

import argparse
import json
import sys

from scalewright.analysis.drift import fit_drift
from scalewright.analysis.grams import g_per_count
from scalewright.analysis.soak import Soak
from scalewright.analysis.soak_file import read_soak
from scalewright.analysis.temperature import Effects, compensated, compensation_for, effects_in_grams
from scalewright.command_line.drift_report import charts, report, results
from scalewright.command_line.numbers import number
from scalewright.command_line.plotting import add_plot_arguments, draw
from scalewright.command_line.recorded_scale import (
    add_recorded_scale_arguments,
    limits_of,
    read_coefficients,
)
from scalewright.errors import InputError
from shared_calc.coefficient_record import CoefficientRecord, encode
from shared_calc.temperature import PARTS_OF_A_DEGREE


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_recorded_scale_arguments(parser)
    parser.add_argument("--port", metavar="URL", help="take the coefficients of the scale at this port")
    parser.add_argument("--store", action="store_true", help="store the new coefficients in the scale at --port")
    parser.add_argument("--reference", metavar="C", help="temperature at which the curve was, or will be, calibrated")
    parser.add_argument("--degree", type=int, choices=(1, 2), help="of the effects (default: by F-test)")
    add_plot_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Report drift and compensation. Exit code 1 where a limit is not kept, as the scale was or, stored, as it is."""
    if arguments.store and not arguments.port:
        raise InputError("--store needs --port: the scale to store in")
    if arguments.port and arguments.coefficients:
        raise InputError("--coefficients or --port, not both")
    record = read_coefficients(_coefficients_at(arguments.port) if arguments.port else arguments.coefficients)
    soak = read_soak(arguments.file)
    raw, found = _effects(arguments, soak, record)
    compensation = compensation_for(raw.fit)
    left = _refit(arguments, compensated(soak, compensation), raw)
    coefficients = None
    if record:
        record.compensation = compensation
        coefficients = bytes(encode(record))
        if arguments.store:
            _store(arguments.port, coefficients)
    shown = results(arguments.file, found, left, compensation, coefficients, limits_of(arguments, record))
    print(json.dumps(shown) if arguments.json else report(shown))
    draw(charts(found), arguments)
    return 1 if shown["compensated" if arguments.store else "as_found"]["passes"] is False else 0


def _effects(arguments: argparse.Namespace, soak: Soak, record: CoefficientRecord | None) -> tuple[Effects, Effects]:
    """Return the effects on the raw counts, and those on the indications of the scale as it was."""
    settle_s = float(number(arguments.settle, "--settle", 0))
    reference_c = _reference_c(arguments, record)
    fit = fit_drift(soak, reference_c=reference_c, degree=arguments.degree, settle_s=settle_s)
    slope = None
    if record and fit.zero_counts is not None:
        slope = g_per_count(record, fit.zero_counts)
    raw = effects_in_grams(fit, slope)
    if record and record.compensation:
        return raw, _refit(arguments, compensated(soak, record.compensation), raw)
    return raw, raw


def _refit(arguments: argparse.Namespace, soak: Soak, raw: Effects) -> Effects:
    settle_s = float(number(arguments.settle, "--settle", 0))
    fit = fit_drift(soak, reference_c=raw.fit.reference_c, degree=arguments.degree, settle_s=settle_s)
    return Effects(fit, raw.g_per_count)


def _reference_c(arguments: argparse.Namespace, record: CoefficientRecord | None) -> float | None:
    """Return the temperature at which the curve holds: what is compensated must be right there."""
    if arguments.reference:
        reference_c = number(arguments.reference, "--reference", -55, 125)
        return round(float(reference_c) * PARTS_OF_A_DEGREE) / PARTS_OF_A_DEGREE
    if record is None:
        return None
    if record.compensation is None:
        raise InputError("--reference is missing: at which temperature was this scale calibrated?")
    return float(record.compensation.fields[0]) / PARTS_OF_A_DEGREE


def _coefficients_at(url: str) -> str:
    from scalewright.link.scale import Scale

    with Scale.open(url) as scale:
        return scale.read_coefficients().hex()


def _store(url: str, coefficients: bytes) -> None:
    from scalewright.link.scale import Scale

    with Scale.open(url) as scale:
        scale.store_coefficients(coefficients)
        print(f"stored in {scale.identity.serial_number}, event {scale.identity.events}", file=sys.stderr)


