"""What the registers told of scale, masses and instruments when a job was done, as facts of its certificate."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from scalewright.certificates.document import Condition, MassFacts, ScaleFacts
from scalewright.certificates.issue import Issue
from scalewright.equipment import Instrument, MassSet, RegisteredScale
from scalewright.errors import InputError
from scalewright.procedures.scale_under_test import Limits, division_of
from scalewright.records.journal import Entry, Journal
from scalewright.records.registers import KINDS, Registered
from scalewright.tolerances import AccuracyClass
from shared_calc.coefficient_record import CoefficientRecord

Item = TypeVar("Item", RegisteredScale, MassSet, Instrument)
_SEALS = {True: "sealed", False: "open", None: ""}


@dataclass(frozen=True)
class RegistersThen:
    """The registers as they stood when a job began; what was registered between then and the issue is known too."""

    journal: Journal
    begun_seq: int
    issued_seq: int

    def knows(self, kind: type[Item], key: str) -> bool:
        """Was there such an item?"""
        return bool(key) and any(self._entries(kind, key))

    def find(self, kind: type[Item], key: str) -> Item:
        """Return the item. Raises InputError where there was none."""
        states = list(self._entries(kind, key))
        if not states:
            raise InputError(f"{key} was not registered when the certificate was issued", remedy="register it first")
        before = [entry for entry in states if entry.seq < self.begun_seq]
        return Registered.of((before or states)[-1], kind).item

    def _entries(self, kind: type[Item], key: str) -> Iterator[Entry]:
        return (entry for entry in self.journal.entries(key, KINDS[kind]) if entry.seq < self.issued_seq)


def scale_facts(
    device: dict[str, Any], known: RegisteredScale | None, issue: Issue, record: CoefficientRecord, limits: Limits
) -> ScaleFacts:
    """Return the scale as it was left. device: what it said of itself then; record: its coefficients."""
    division_g = _decimal(division_of(record))
    facts = ScaleFacts(
        name=issue.scale_name or (known.key if known else device["model"]),
        serial_number=device["serial_number"],
        max_g=record.max_divisions * division_g,
        division_g=division_g,
        maker=known.maker if known else "",
        model=device["model"],
        place=issue.scale_place or (known.place if known else ""),
        condition=issue.condition,
        firmware=device["firmware"],
        coefficients_crc=device["coefficients"],
        event_counter=device["events"],
        seal=_SEALS[device.get("sealed")],
    )
    min_g = known.min_g if known and known.min_g else None
    if isinstance(limits, AccuracyClass):
        by_class = _decimal(limits.min_g) if limits.min_g else None
        facts = replace(facts, e_g=_decimal(limits.e_g), accuracy_class=limits.name, min_g=by_class)
    return facts if min_g is None else replace(facts, min_g=min_g)


def mass_facts(masses: MassSet, used: Collection[str]) -> MassFacts:
    """Return a mass set. used: the pieces that loads were put together from, as they are marked."""
    pieces = [piece for piece in masses.pieces if piece.name in used]
    paper = masses.certificate
    return MassFacts(
        name=masses.key,
        serial_number=masses.serial_number,
        weight_class=", ".join(sorted({piece.weight_class for piece in pieces if piece.weight_class})),
        certificate=paper.number if paper else "",
        calibrated_by=paper.issued_by if paper else "",
        calibrated_on=paper.on if paper else None,
        due=paper.due if paper else None,
        pieces=tuple(piece.name for piece in pieces),
    )


def condition_facts(condition: Condition, registers: RegistersThen) -> Condition:
    """Return a condition as a registered instrument read it: corrected, with its uncertainty; else as it was stated."""
    if not registers.knows(Instrument, condition.instrument):
        return condition
    instrument = registers.find(Instrument, condition.instrument)
    low, high = instrument.corrected(condition.low), instrument.corrected(condition.high)
    named = " ".join(part for part in (instrument.kind, instrument.key, instrument.serial_number) if part)
    return replace(condition, low=low, high=high, expanded_u=instrument.expanded_u * 2 / instrument.k, instrument=named)


def _decimal(exact: Fraction) -> Decimal:
    return Decimal(exact.numerator) / exact.denominator
