"""Whether a job may begin: what the guards say to the scale, masses and instruments it is to be done with."""

from collections.abc import Sequence
from datetime import date

from scalewright.equipment import DeviceState, Instrument, Limits, MassSet, RegisteredScale
from scalewright.errors import InputError
from scalewright.guards import Objection, check_device, check_instrument, check_loads, check_masses, check_scale
from scalewright.procedures.job import Circumstances
from scalewright.procedures.requests import Load
from scalewright.records.history import kept_scale
from scalewright.records.journal import Journal
from scalewright.records.registers import find, last_seen


def objections_to(
    journal: Journal,
    given: Circumstances,
    device: DeviceState,
    loads: Sequence[Load],
    limits: Limits,
    on: date,
    *,
    calibrates: bool = False,
) -> list[Objection]:
    """Return what all guards say to a job with these loads before it begins; where nothing is registered, nothing.

    device: as it is behind the port now. Raises InputError for a key that is not registered.
    """
    found: list[Objection] = []
    if given.scale:
        found += check_registered_scale(journal, given.scale, device, on, calibrates=calibrates)
    if given.masses:
        found += check_registered_masses(journal, given.masses, loads, limits, on)
    return found + check_registered_instruments(journal, given.instruments, on)


def check_registered_scale(
    journal: Journal, key: str, device: DeviceState, on: date, *, calibrates: bool = False
) -> list[Objection]:
    """Return what the guards say to the scale behind a port, which is to be the one with this key.

    calibrates: the job ends its being overdue, which is then no objection. Raises InputError for an unknown key.
    """
    scale = find(journal, RegisteredScale, key)
    kept = kept_scale(journal, scale)
    due = None if calibrates else kept.due
    return [*check_device(scale, device, last_seen(journal, scale)), *check_scale(scale, due, on, kept.why)]


def check_registered_masses(
    journal: Journal, keys: Sequence[str], loads: Sequence[Load], limits: Limits, on: date, *, in_service: bool = False
) -> list[Objection]:
    """Return what the guards say to the mass sets with these keys, and to the loads that are made of their pieces.

    Raises InputError where there is no such set, or a load's pieces are not all in one of them.
    """
    sets = [find(journal, MassSet, key) for key in keys]
    of_set: dict[str, list[Load]] = {masses.key: [] for masses in sets}
    for load in loads:
        if load.pieces:
            of_set[_set_of(load, sets).key].append(load)
    return [
        objection
        for masses in sets
        for objection in (
            *check_masses(masses, on),
            *check_loads(masses, of_set[masses.key], limits, in_service=in_service),
        )
    ]


def check_registered_instruments(journal: Journal, keys: Sequence[str], on: date) -> list[Objection]:
    """Return what the guards say to the instruments with these keys. Raises InputError where there is no such one."""
    return [found for key in keys for found in check_instrument(find(journal, Instrument, key), on)]


def _set_of(load: Load, sets: Sequence[MassSet]) -> MassSet:
    for masses in sets:
        if {*load.pieces} <= {piece.name for piece in masses.pieces}:
            return masses
    keys = ", ".join(masses.key for masses in sets) or "no mass set"
    raise InputError(f"pieces {' + '.join(load.pieces)} are in none of: {keys}")
