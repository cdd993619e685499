"""Jobs on a scale without error, for tests of what a certificate makes of a record; quicker than a virtual scale."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

from scalewright.composition import compose
from scalewright.equipment import MassSet, Piece
from scalewright.link.scale import Identity
from scalewright.procedures.adjustment import MultiPoint, ScaleDesign
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.job import Circumstances, Job
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.rehearsal import PerfectScale
from scalewright.procedures.requests import Answer, Load, Request, StillReading
from scalewright.procedures.scale_under_test import Held
from scalewright.records.journal import Journal
from scalewright.records.registers import put
from scalewright.tolerances import AccuracyClass

IDENTITY = Identity("virtual", "PERFECT-1", "0.1.0", "0BADCAFE", 3)
MASSES = MassSet(
    "SET-P",
    (
        Piece("500", Decimal(500), Decimal("500.004"), Decimal("0.010"), weight_class="F2"),
        Piece("1000", Decimal(1000), Decimal("999.990"), Decimal("0.020"), weight_class="F2"),
    ),
)
HELD = Held(AccuracyClass("III", Fraction(1)), readings=4)
LOADS = tuple(compose(MASSES, Decimal(nominal)) for nominal in (0, 500, 1500, 500, 0))
ADJUSTMENT = MultiPoint(ScaleDesign(Decimal(1500), (1, 0), 1), LOADS, 4)
PLAN = Calibration(HELD, as_found=(RangeCheck(LOADS),), adjustment=ADJUSTMENT, as_left=(RangeCheck(LOADS),))
TOLD = Circumstances(by="KM", masses=("SET-P",))
BARE_LOADS = tuple(Load(Decimal(load)) for load in (0, 500, 0))

Bend = Callable[[Request, Answer, int], Answer]
"""Makes of a request, its perfect answer and how many answers were before what the scale is to have answered."""


def register_masses(journal: Journal) -> None:
    put(journal, MASSES, "KM", "first registered")


def begin(journal: Journal, plan: Calibration = PLAN, told: Circumstances = TOLD) -> Job:
    return Job.begin(journal, plan, IDENTITY, told)


def answer_all(job: Job, bend: Bend = lambda _request, answer, _count: answer, most: int = 10_000) -> None:
    """Answer what the job asks, `most` times."""
    scale = PerfectScale(b"", Decimal(1500), 10)
    while job.run.request is not None and most:
        request = job.run.request
        answer = bend(request, scale.answer(request), len(job.run.answered))
        job.keep(request, answer)
        job.run.answer(answer)
        most -= 1


def carry_out(journal: Journal, plan: Calibration = PLAN, told: Circumstances = TOLD) -> str:
    """Do a whole job and return its name."""
    job = begin(journal, plan, told)
    answer_all(job)
    job.end(IDENTITY)
    return job.name


def shifted(by_counts: int) -> Bend:
    """Return a bend that lets the later of two readings of one load be so many counts more."""

    def bend(_request: Request, answer: Answer, count: int) -> Answer:
        if not isinstance(answer, StillReading) or count < 18:
            return answer
        total = answer.counts_sum + by_counts * answer.readings
        return StillReading(total, answer.readings, 0, answer.time_ms, answer.temperature_c)

    return bend
