"""The registers: which scales, mass sets and instruments there are, what is known of them, and what was before.

They are entries of the journal, one for each change, so nothing that was ever registered is lost: kind KINDS, job the
key of the item, body {"item": ..., "by": initials, "why": ...}. The last entry of a key is what holds.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from math import hypot
from typing import Any, Generic, TypeVar

from scalewright.equipment import (
    STATES,
    DeviceState,
    Instrument,
    MassSet,
    RegisteredScale,
    initials,
    line_of_text,
)
from scalewright.errors import InputError
from scalewright.plain import plain, revive
from scalewright.records.journal import Addition, Entry, Journal

Item = TypeVar("Item", RegisteredScale, MassSet, Instrument)

KINDS: dict[type, str] = {
    RegisteredScale: "register.scale",
    MassSet: "register.masses",
    Instrument: "register.instrument",
}
_PAGE = 100
_NAMES = {RegisteredScale: "scale", MassSet: "mass set", Instrument: "instrument"}


@dataclass(frozen=True)
class Registered(Generic[Item]):
    """An item as it was registered at one time."""

    item: Item
    at: str
    """UTC, ISO 8601"""
    by: str
    """initials"""
    why: str

    @classmethod
    def of(cls, entry: Entry, kind: type[Item]) -> "Registered[Item]":
        """Read an entry. Raises RecordError where it holds no such item."""
        body: dict[str, Any] = entry.body
        item = revive(body.get("item"), kind, f"entry {entry.seq}")
        return cls(item, entry.at, str(body.get("by", "")), str(body.get("why", "")))


@dataclass(frozen=True)
class PieceValue:
    """What a piece was found to weigh at one calibration, and how it has changed since the one before."""

    on: date | None
    """day of the calibration; None without a certificate"""
    certificate: str
    conventional_mass_g: Decimal
    expanded_u_g: Decimal
    k: Decimal
    change_g: Decimal | None = None
    """None at the first"""
    e_n: float | None = None
    """the change over its expanded uncertainty (k = 2): within -1 and 1 the two agree"""


def put(journal: Journal, item: Item, by: str, why: str, at: datetime | None = None) -> Entry:
    """Register an item, new or changed, and return the entry once it is on disk. Raises InputError, RecordError."""
    return journal.append_all([_addition(item, by, why, at)])[0]


def add(journal: Journal, new: Sequence[Item], by: str, why: str) -> list[Entry]:
    """Register items under keys that are free, all of them or, with InputError, none."""
    keys = [item.key for item in new]
    for item in new:
        if keys.count(item.key) > 1 or history(journal, type(item), item.key):
            message = f"{_NAMES[type(item)]} {item.key} is registered already"
            raise InputError(message, remedy="change it, or choose another key")
    return journal.append_all([_addition(item, by, why) for item in new])


def change(journal: Journal, changed: Sequence[Item], by: str, why: str) -> list[Entry]:
    """Register items anew in place of what has their keys now, all of them or, with InputError, none."""
    kept = [_as_last_seen(item, find(journal, type(item), item.key)) for item in changed]
    return journal.append_all([_addition(item, by, why) for item in kept])


def retire(journal: Journal, kind: type[Item], key: str, by: str, why: str) -> Entry:
    """Take an item out of use. It stays in the register; changing its state puts it back."""
    return put(journal, replace(find(journal, kind, key), state=STATES[1]), by, why)


def items(journal: Journal, kind: type[Item], *, retired: bool = False) -> dict[str, Item]:
    """Return what is in use, by key in its order; what is retired too if wanted."""
    found = {entry.job: Registered.of(entry, kind).item for entry in journal.latest(KINDS[kind])}
    return {key: found[key] for key in sorted(found) if retired or found[key].state == STATES[0]}


def find(journal: Journal, kind: type[Item], key: str) -> Item:
    """Return the item with this key as it is now, retired or not. Raises InputError where there is none."""
    known = journal.newest(1, kind=KINDS[kind], job=key)
    if not known:
        keys = ", ".join(items(journal, kind)) or "none yet"
        raise InputError(f"{_NAMES[kind]} {key[:40]!a} is not registered; expected one of: {keys}")
    return Registered.of(known[0], kind).item


def history(journal: Journal, kind: type[Item], key: str) -> list[Registered[Item]]:
    """Return every state the item was registered in, the oldest first; none where the key is not registered."""
    return [Registered.of(entry, kind) for entry in journal.entries(key, KINDS[kind])]


def values_of_piece(journal: Journal, key: str, piece: str) -> list[PieceValue]:
    """Return the values a piece of a mass set has had, one for each calibration, and how they agree.

    E_n = change / sqrt(U1**2 + U2**2), both U with k = 2 (ISO 13528:2015, 9.7, from memory); correlation between two
    calibrations is left out, so with one laboratory |E_n| comes out a little small. Raises InputError for a mass set or
    a piece that there is not.
    """
    find(journal, MassSet, key).piece(piece)
    values: list[PieceValue] = []
    for registered in history(journal, MassSet, key):
        value = _value(registered.item, piece)
        if value is not None and (not values or value != replace(values[-1], change_g=None, e_n=None)):
            values.append(_compared(value, values[-1]) if values else value)
    return values


def last_seen(journal: Journal, scale: RegisteredScale) -> DeviceState | None:
    """Return the device as it was last seen: for the register, or at the end of a job; None where it never was."""
    named = json.dumps(scale.serial_number, ensure_ascii=False)  # as the canonical text has it: quick to look for
    for entry in _newest_first(journal, "job.ended"):
        if scale.seen is not None and entry.at <= scale.seen.at:
            break
        device = entry.body.get("device") if named in entry.body_json else None
        if isinstance(device, dict) and device.get("serial_number") == scale.serial_number:
            then = {**device, "is": DeviceState.__name__, "at": entry.at}
            state: DeviceState = revive(then, DeviceState, f"entry {entry.seq}")
            return state
    return scale.seen


def _newest_first(journal: Journal, kind: str) -> Iterator[Entry]:
    page = journal.newest(_PAGE, kind=kind)
    while page:
        yield from page
        page = journal.newest(_PAGE, kind=kind, before=page[-1].seq)


def _addition(item: Item, by: str, why: str, at: datetime | None = None) -> Addition:
    body: dict[str, object] = {"item": plain(item), "by": initials(by), "why": line_of_text(why, "why")}
    return Addition(KINDS[type(item)], item.key, body, at)


def _as_last_seen(item: Item, before: Item) -> Item:
    """A file says nothing of the device; what was known of it still holds of the same one."""
    if not isinstance(item, RegisteredScale) or not isinstance(before, RegisteredScale):
        return item
    is_same = item.serial_number == before.serial_number
    return replace(item, seen=before.seen) if item.seen is None and is_same else item


def _value(masses: MassSet, name: str) -> PieceValue | None:
    piece = next((piece for piece in masses.pieces if piece.name == name), None)
    if piece is None or piece.conventional_mass_g is None or piece.expanded_u_g is None:
        return None
    on, number = (masses.certificate.on, masses.certificate.number) if masses.certificate else (None, "")
    return PieceValue(on, number, piece.conventional_mass_g, piece.expanded_u_g, piece.k)


def _compared(value: PieceValue, before: PieceValue) -> PieceValue:
    change_g = value.conventional_mass_g - before.conventional_mass_g
    expanded_u_g = hypot(*(float(2 * each.expanded_u_g / each.k) for each in (value, before)))
    return replace(value, change_g=change_g, e_n=float(change_g) / expanded_u_g)
