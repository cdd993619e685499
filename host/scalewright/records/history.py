"""What the journal tells of a scale: its calibrations and daily checks, and when everything registered is due.

Jobs of a scale are found by their names, which begin with its key and the plan (procedures.job). Their results are read
as they were written, not computed anew.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
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
from scalewright.due_list import Kept
from scalewright.equipment import Instrument, MassSet, RegisteredScale
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.daily_check import DailyCheck
from scalewright.procedures.job import jobs_of
from scalewright.records.journal import Entry, Journal
from scalewright.records.registers import find, items
from scalewright.scale_history import PastCalibration, PastCheck, ScaleHistory

_OVER_THE_RANGE = ("RangeCheck", "ChangeoverTest", "SubstitutionTest")
_THIRD = 3  # of the limit is what a mass of unknown uncertainty may be wrong by (OIML R 76-1:2006, 3.7.1)

Body = Mapping[str, Any]


def read_history(journal: Journal, key: str) -> ScaleHistory:
    """Return the history of a registered scale. Raises InputError where there is no such scale."""
    scale = find(journal, RegisteredScale, key)
    past = tuple(calibrations(journal, key, float(scale.d_g)))
    return ScaleHistory(past, tuple(daily_checks(journal, key)), scale.interval_months)


def calibrations(journal: Journal, key: str, d_g: float) -> Iterator[PastCalibration]:
    """Iterate over the calibrations of a scale that ended with errors over its range, the oldest first.

    The uncertainty of an error is that of EURAMET cg-18 (analysis.error_of_indication) with what the entries hold: the
    masses as the plan knows them, repeatability as it was tested, else from readings of one load rising and falling,
    else the division d, and the air buoyancy of a scale that was not adjusted just before.
    """
    names = jobs_of(key, Calibration)
    plans = {begun.job: _body(begun)["plan"] for begun in journal.entries(names, "job.begun")}
    for ended in journal.entries(names, "job.ended"):
        plan, result = plans[ended.job], _body(ended)["result"]
        found = _errors(plan["as_found"], result["as_found"], d_g)
        left = _errors(plan["as_left"], result["as_left"], d_g) if result["adjustment"] else found
        if found or left:
            yield PastCalibration(ended.job, _moment(ended), found, left, bool(result["adjustment"]))


def daily_checks(journal: Journal, key: str) -> Iterator[PastCheck]:
    """Iterate over the masses of the daily checks of a scale that ended, the oldest first."""
    for ended in journal.entries(jobs_of(key, DailyCheck), "job.ended"):
        body, at = _body(ended), _moment(ended)
        for mass in body["result"]:
            load_g, error_g, limit_g = (_number(mass[name]) for name in ("load_g", "error_g", "limit_g"))
            yield PastCheck(ended.job, at, load_g, error_g, limit_g, body["device"]["coefficients"])


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
    ended = journal.newest(1, job=jobs_of(scale.key, Calibration), kind="job.ended")
    on = max((day for day in (scale.calibrated, *(_moment(end).date() for end in ended)) if day), default=None)
    if ended and not ended[0].body["passed"]:
        return Kept(scale.key, "scale", on, on, "its last calibration left it outside its limits")
    return Kept(scale.key, "scale", on, scale.due(on))


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


def _body(entry: Entry) -> Body:
    return entry.body


def _number(value: Any) -> float:
    """Return a number of the journal, rounded once; Fraction would take twenty times as long to read it."""
    numerator, _, denominator = str(value).partition("/")
    return int(numerator) / int(denominator) if denominator else float(numerator)


def _moment(entry: Entry) -> datetime:
    return datetime.fromisoformat(entry.at)
