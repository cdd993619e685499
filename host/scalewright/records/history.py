"""What the journal tells of a scale: its calibrations and daily checks, and when everything registered is due.

Jobs of a scale are found by their names, which begin with its key and the plan (procedures.job). Their results are read
as they were written, not computed anew.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from scalewright.analysis.as_found_drift import ErrorAtLoad
from scalewright.analysis.error_of_indication import (
    AppliedLoad,
    NotAdjusted,
    Repeatability,
    ScaleUnderTest,
    Weight,
    error_of_indication,
)
from scalewright.analysis.recalibration_interval import IntervalRules
from scalewright.due_list import Kept
from scalewright.equipment import Instrument, MassSet, RegisteredScale
from scalewright.errors import RecordError
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.daily_check import DailyCheck
from scalewright.procedures.job import jobs_of
from scalewright.records.journal import Entry, Journal
from scalewright.records.registers import find, items
from scalewright.scale_history import PastCalibration, PastCheck, ScaleHistory

_OVER_THE_RANGE = {"RangeCheck": "Step", "ChangeoverTest": "CorrectedError", "SubstitutionTest": "BuiltUpError"}
"""tests of errors over the range, and what their results hold"""
_THIRD = 3  # of the limit is what a mass of unknown uncertainty may be wrong by (OIML R 76-1:2006, 3.7.1)

Body = Mapping[str, Any]


def read_history(journal: Journal, key: str, rules: IntervalRules | None = None) -> ScaleHistory:
    """Return the history of a registered scale; rules: by which its next calibration is proposed, if not the usual.

    Raises InputError where there is no such scale, RecordError where the result of a job is not as one is written.
    """
    scale = find(journal, RegisteredScale, key)
    past = tuple(calibrations(journal, key, float(scale.d_g)))
    return ScaleHistory(past, tuple(daily_checks(journal, key)), scale.interval_months, rules or IntervalRules())


def calibrations(journal: Journal, key: str, d_g: float) -> Iterator[PastCalibration]:
    """Iterate over the calibrations of a scale that ended with errors over its range, the oldest first.

    The uncertainty of an error is that of EURAMET cg-18 (analysis.error_of_indication) with what the entries hold: the
    masses as the plan knows them, repeatability as it was tested, else from readings of one load rising and falling,
    else the division d, and the air buoyancy of a scale that was not adjusted just before.
    """
    names = jobs_of(key, Calibration)
    begun = {entry.job: entry for entry in journal.entries(names, "job.begun")}
    for ended in journal.entries(names, "job.ended"):
        with _made_of(ended):
            past = _calibration(begun[ended.job], ended, d_g)
        if past.found or past.left:
            yield past


def _calibration(begun: Entry, ended: Entry, d_g: float) -> PastCalibration:
    plan, result = _body(begun)["plan"], _body(ended)["result"]
    found = _errors(plan["as_found"], result["as_found"], d_g)
    left = _errors(plan["as_left"], result["as_left"], d_g) if result["adjustment"] else found
    return PastCalibration(ended.job, _moment(ended), found, left, bool(result["adjustment"]))


def daily_checks(journal: Journal, key: str) -> Iterator[PastCheck]:
    """Iterate over the masses of the daily checks of a scale that ended, the oldest first."""
    for ended in journal.entries(jobs_of(key, DailyCheck), "job.ended"):
        with _made_of(ended):
            checks = _checks(ended)
        yield from checks


def _checks(ended: Entry) -> list[PastCheck]:
    body, at = _body(ended), _moment(ended)
    coefficients = body["device"]["coefficients"]
    return [
        PastCheck(
            ended.job, at, _number(mass["load_g"]), _number(mass["error_g"]), _number(mass["limit_g"]), coefficients
        )
        for mass in body["result"]
    ]


def kept_items(journal: Journal) -> Iterator[Kept]:
    """Iterate over everything registered that is in use, with the last calibration that is known of it."""
    for scale in items(journal, RegisteredScale).values():
        yield kept_scale(journal, scale)
    for masses in items(journal, MassSet).values():
        yield _kept(masses, "masses")
    for instrument in items(journal, Instrument).values():
        yield _kept(instrument, instrument.kind)


def _kept(item: MassSet | Instrument, kind: str) -> Kept:
    return Kept(item.key, kind, item.certificate.on if item.certificate else None, item.due)


def kept_scale(journal: Journal, scale: RegisteredScale) -> Kept:
    """Return when a scale was calibrated last, by the register or by a job, and when it is due."""
    ended = _last_over_the_range(journal, scale.key)
    on = max((day for day in (scale.calibrated, ended and _moment(ended).date()) if day), default=None)
    if ended and _moment(ended).date() == on and not _body(ended)["passed"]:
        return Kept(scale.key, "scale", on, on, "its last calibration left it outside its limits")
    return Kept(scale.key, "scale", on, scale.due(on))


def _last_over_the_range(journal: Journal, key: str) -> Entry | None:
    """Return the end of the last job that tested a scale over its range; a lone repeatability is no calibration."""
    before = None
    while newest := journal.newest(1, job=jobs_of(key, Calibration), kind="job.ended", before=before):
        if any(f'"is":"{error}"' in newest[0].body_json for error in _OVER_THE_RANGE.values()):
            return newest[0]
        before = newest[0].seq
    return None


def _errors(plans: Sequence[Body], results: Sequence[Any] | None, d_g: float) -> tuple[ErrorAtLoad, ...]:
    """Return the errors over the range that were found in one state; none at no load, where zero was set."""
    tests = list(zip(plans, results or (), strict=False))
    checks = [(plan, _steps(result)) for plan, result in tests if plan["is"] in _OVER_THE_RANGE]
    scale = _scale(tests, [step for _, steps in checks for step in steps], d_g)
    found = [(step, _u_load_g(plan, step)) for plan, steps in checks for step in steps]
    return tuple(_error(step, u_load_g, scale) for step, u_load_g in found if _number(step["load_g"]))


def _steps(result: Any) -> Sequence[Body]:
    """Return the errors in the result of a test; none where it could not be carried through."""
    steps = result if isinstance(result, list) else result.get("steps", ())
    return [{**step, "load_g": step["load_g"] if "load_g" in step else step["at"]["load_g"]} for step in steps]


def _scale(tests: Iterable[tuple[Body, Any]], steps: Iterable[Body], d_g: float) -> ScaleUnderTest:
    by_load: dict[str, list[float]] = {}
    for step in steps:
        by_load.setdefault(step["load_g"], []).append(_number(step["error_g"]))
    weighings = [
        [_number(indication) for indication in series["indications_g"]]
        for plan, result in tests
        if plan["is"] == "RepeatabilityTest" and isinstance(result, list)
        for series in result
    ]
    series = weighings or [errors for errors in by_load.values() if len(errors) > 1]
    if not series:
        return ScaleUnderTest(d_g, Repeatability(0.0, 1), 0.0, NotAdjusted())
    return ScaleUnderTest(0.0, Repeatability.of(*series), 0.0, NotAdjusted())


def _u_load_g(plan: Body, step: Body) -> float | None:
    """Return the standard uncertainty of the load of a step; None where nobody knew it."""
    known = [load["u_load_g"] for load in plan.get("loads", ()) if load["load_g"] == step["load_g"]]
    u_load_g = step.get("u_load_g", known[0] if known else None)
    return None if u_load_g is None else _number(u_load_g)


def _error(step: Body, u_load_g: float | None, scale: ScaleUnderTest) -> ErrorAtLoad:
    load_g, error_g, limit_g = (_number(step[name]) for name in ("load_g", "error_g", "limit_g"))
    weight = Weight(load_g, limit_g / _THIRD) if u_load_g is None else Weight(load_g, 0, expanded_u_g=2 * u_load_g)
    budget = error_of_indication(scale, AppliedLoad([weight], load_g + error_g)).budget
    return ErrorAtLoad(load_g, error_g, budget.u, limit_g, step.get("direction", ""))


@contextmanager
def _made_of(entry: Entry) -> Iterator[None]:
    try:
        yield
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError) as error:
        message = f"entry {entry.seq} does not hold a result as this Scalewright writes it"
        raise RecordError(message, "verify the records; if they hold, use the Scalewright that wrote them") from error


def _body(entry: Entry) -> Body:
    return entry.body


def _number(value: Any) -> float:
    """Return a number of the journal, rounded once; Fraction would take twenty times as long to read it."""
    numerator, _, denominator = str(value).partition("/")
    return int(numerator) / int(denominator) if denominator else float(numerator)


def _moment(entry: Entry) -> datetime:
    return datetime.fromisoformat(entry.at)
