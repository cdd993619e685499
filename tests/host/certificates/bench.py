"""Three jobs of the invented scenario, carried out on the virtual scale into a journal, as at a bench."""

import sqlite3
from atexit import register
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from scalewright.certificates.document import Certificate, Condition
from scalewright.certificates.evidence import issue_certificate
from scalewright.certificates.issue import Issue
from scalewright.composition import compose
from scalewright.equipment import Certificate as Paper
from scalewright.equipment import Instrument, MassSet, Piece, RegisteredScale
from scalewright.link.scale import Scale
from scalewright.link.sighting import look_at
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.eccentricity import EccentricityTest, places_for
from scalewright.procedures.job import Circumstances, Job, Override
from scalewright.procedures.perform import perform
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.repeatability import RepeatabilityTest
from scalewright.procedures.scale_under_test import Held
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.procedures.zero_and_tare import ZeroSettingTest
from scalewright.records.journal import Journal
from scalewright.records.registers import put
from scalewright.tolerances import AccuracyClass
from tests.host.certificates.cases import CUSTOMER, INVENTED, LABORATORY

PAPER = Paper("SM-25-0311", "invented laboratory", date(2025, 6, 3), date(2099, 6, 3))
THERMOMETER = Instrument("T-1", "thermometer", Decimal("0.3"), correction=Decimal("-0.1"), certificate=PAPER)
TIMES = 5
"""weighings of a repeatability test: enough for an uncertainty (EURAMET cg-18 v4.0, 5.1, from memory)"""


@dataclass(frozen=True)
class Bench:
    """One scale with its masses and what is done to it."""

    scale: RegisteredScale
    url: str
    masses: MassSet
    loads: Sequence[str]
    """nominal, rising"""
    degree: int
    adjusts: tuple[bool, ...]
    """for each of the jobs one after another, whether it adjusts the scale; the last one tests it, and is certified"""
    rule: str
    repeated: str = ""
    """nominal load of the repeatability test; empty: there is none"""
    off_centre: str = ""
    """nominal load of the eccentricity test; empty: there is none"""


def piece(name: str, nominal: str, value: str, u: str, weight_class: str) -> Piece:
    return Piece(name, Decimal(nominal), Decimal(value), Decimal(u), weight_class=weight_class)


def scale_of(key: str, serial: str, max_g: str, d_g: str, limits: AccuracyClass, place: str) -> RegisteredScale:
    return RegisteredScale(key, "SCALEWRIGHT", serial, Decimal(max_g), Decimal(d_g), limits, place=place)


KITCHEN = Bench(
    scale_of("PLOVER", "PLV-0042", "3000", "1", AccuracyClass("III", Fraction(1)), "canteen, serving hatch"),
    "virtual://PLV-0042?speed=0&seed=3",
    MassSet(
        "SET-M", (piece("500", "500", "500.002", "0.008", "F2"), piece("1000", "1000", "999.996", "0.016", "F2"),
                  piece("2000", "2000", "2000.011", "0.030", "F2")), PAPER, "EB-M-2",
    ),
    ("500", "1000", "2000", "3000"), 3, (True, True), "guarded", "1500", "1000",
)  # fmt: skip
BALANCE = Bench(
    scale_of("SANDERLING", "SND-0007", "200", "0.01", AccuracyClass("II", Fraction("0.01")), "balance room"),
    "virtual://SND-0007?speed=0&seed=5&cell_capacity_g=300&cell_dead_load_g=30&cell_hysteresis=6e-5",
    MassSet(
        "SET-F", (piece("50", "50", "50.00002", "0.00010", "F1"), piece("50*", "50", "49.99998", "0.00010", "F1"),
                  piece("100", "100", "100.00005", "0.00016", "F1")), PAPER, "EB-F-1",
    ),
    ("50", "100", "150", "200"), 3, (True,), "conditional", "100",
)  # fmt: skip
PLATFORM = Bench(
    scale_of("BITTERN", "BTN-0311", "150000", "50", AccuracyClass("III", Fraction(50)), "loading bay"),
    "virtual://BTN-0311?speed=0&seed=7&cell_capacity_g=250000&cell_dead_load_g=20000&cell_hysteresis=0.0006",
    MassSet(
        "BLOCKS", (piece("20000", "20000", "20000.3", "0.3", "M1"), piece("50000", "50000", "49999.1", "0.8", "M1"),
                   piece("50000*", "50000", "50000.7", "0.8", "M1"), piece("50000**", "50000", "50001.2", "0.8", "M1")),
        PAPER, "EB-B-1",
    ),
    ("20000", "50000", "70000", "100000", "120000", "150000"), 1, (True, False), "simple",
)  # fmt: skip
BENCHES = {"kitchen": KITCHEN, "balance": BALANCE, "platform": PLATFORM}


def issue_of(bench: Bench, number: str = "") -> Issue:
    air = Condition("air temperature", Decimal("21.4"), Decimal("22.0"), "°C", instrument="T-1")
    return Issue(
        LABORATORY, CUSTOMER, "Estuary Bench, room 1", "TS", number, rule=bench.rule, received_on=date(2026, 2, 27),
        condition="clean, feet level", remarks=("wiped before it was tested",), conditions=(air,), scenario=INVENTED,
        records="records.sqlite",
    )  # fmt: skip


def further_tests(bench: Bench) -> Iterator[RepeatabilityTest | EccentricityTest | ZeroSettingTest]:
    if bench.repeated:
        yield RepeatabilityTest((compose(bench.masses, Decimal(bench.repeated)),), TIMES)
    if bench.off_centre:
        load = compose(bench.masses, Decimal(bench.off_centre))
        yield EccentricityTest(load, places_for(bench.scale.pan, bench.scale.supports))
        yield ZeroSettingTest()


def plan_of(bench: Bench, adjusts: bool, is_last: bool) -> Calibration:
    up = [compose(bench.masses, Decimal(nominal)) for nominal in ("0", *bench.loads)]
    loads = (*up, *reversed(up[:-1]))
    checks = (RangeCheck(loads), *further_tests(bench)) if is_last else ()
    mantissa, exponent = int(bench.scale.d_g.as_tuple().digits[0]), bench.scale.d_g.adjusted()
    design = ScaleDesign(bench.scale.max_g, (mantissa, exponent), bench.degree)
    adjustment = MultiPoint(design, loads, 8) if adjusts else None
    held = Held(bench.scale.limits, readings=8)
    return Calibration(held, as_found=checks, adjustment=adjustment, as_left=checks)


def carry_out(bench: Bench, journal: Journal) -> str:
    """Register everything, do the jobs, and return the name of the last."""
    for item in (bench.scale, bench.masses, THERMOMETER):
        put(journal, item, "KM", "first registered")
    with Scale.open(bench.url) as scale:
        for number, adjusts in enumerate(bench.adjusts, 1):
            name = _job(bench, journal, scale, plan_of(bench, adjusts, number == len(bench.adjusts)))
    return name


def _job(bench: Bench, journal: Journal, scale: Scale, plan: Calibration) -> str:
    aside = Override("scale overdue", "it was due last week", "the first day it could be spared")
    told = Circumstances(bench.scale.key, "KM", (bench.masses.key,), ("T-1",), (aside,), "came in its box")
    job = Job.begin(journal, plan, look_at(scale), told)
    perform(job.run, scale, VirtualHand(scale), job.keep)
    job.end(look_at(scale))
    return job.name


@dataclass(frozen=True)
class Finished:
    """A job that is done, and its certificate."""

    path: Path
    job: str
    certificate: Certificate


@cache
def finished(name: str) -> Finished:
    """Return one of BENCHES, done and certified, once a process. What changes the records works on a copy."""
    folder = TemporaryDirectory()
    register(folder.cleanup)
    path = Path(folder.name) / "records.sqlite"
    with Journal(path) as journal:
        job = carry_out(BENCHES[name], journal)
        return Finished(path, job, issue_certificate(journal, job, issue_of(BENCHES[name])))


def copy_of(name: str, folder: Path) -> Finished:
    """Return the same with its records copied to a folder."""
    done = finished(name)
    path = folder / done.path.name
    with sqlite3.connect(done.path) as source, closing(sqlite3.connect(path)) as target:
        source.backup(target)
    source.close()
    return replace(done, path=path)
