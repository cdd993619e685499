"""What a job is to be done with and by whom, as it is chosen before the job begins, and what the guards say to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path

from scalewright.composition import compose
from scalewright.equipment import DeviceState, Limits, MassSet, RegisteredScale
from scalewright.guards import Objection
from scalewright.procedures.job import Circumstances
from scalewright.procedures.requests import Load
from scalewright.terminal.open_records import are_there, with_journal


@dataclass(frozen=True)
class Registers:
    """What can be chosen: all that is registered and in use, by key."""

    masses: Mapping[str, MassSet] = field(default_factory=dict)
    scales: Mapping[str, RegisteredScale] = field(default_factory=dict)

    @classmethod
    def read(cls, records: Path) -> "Registers":
        """Read them; for a thread that may wait. Raises RecordError."""
        from scalewright.records.registers import items

        if not are_there(records):
            return cls()
        return with_journal(records, lambda journal: cls(items(journal, MassSet), items(journal, RegisteredScale)))

    def scale_with(self, serial_number: str) -> str:
        """Return the key of the scale with this serial number; "" where there is none."""
        return next((key for key, scale in self.scales.items() if scale.serial_number == serial_number), "")


@dataclass(frozen=True)
class Chosen:
    """What is used for one job. It makes the loads of the plan, and keeps them for the guards."""

    scale: RegisteredScale | None = None
    masses: MassSet | None = None
    by: str = ""
    """initials, or nothing"""
    loads: list[Load] = field(default_factory=list)

    def make(self, nominal_g: Decimal) -> Load:
        """Return a load of pieces of the mass set, or of whatever has this mass. Raises InputError."""
        self.loads.append(compose(self.masses, nominal_g) if self.masses and nominal_g else Load(nominal_g))
        return self.loads[-1]

    @property
    def circumstances(self) -> Circumstances:
        """The same as a job keeps it."""
        masses = (self.masses.key,) if self.masses else ()
        return Circumstances(self.scale.key if self.scale else "", self.by, masses)

    @property
    def is_guarded(self) -> bool:
        """Is there anything that a guard could object to?"""
        return bool(self.scale or self.masses)

    def objections(
        self, records: Path, device: DeviceState, limits: Limits, on: date, *, calibrates: bool
    ) -> list[Objection]:
        """Return what the guards say; for a thread that may wait. Raises RecordError, InputError."""
        from scalewright.records.readiness import objections_to

        return with_journal(
            records,
            lambda journal: objections_to(
                journal, self.circumstances, device, self.loads, limits, on, calibrates=calibrates
            ),
        )
