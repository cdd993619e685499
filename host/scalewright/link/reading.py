"""A reading as the host holds it."""

from dataclasses import dataclass
from decimal import Decimal

from shared_calc import reading as shared_reading


@dataclass(frozen=True)
class Reading:
    """One reading of the device."""

    number: int
    """Counts up by one with every reading the device made."""
    time_ms: int
    """Device time since its start."""
    counts: int | None
    """Raw ADC counts; None where there was no conversion."""
    indication_g: Decimal | None
    """Rounded to the division; None where a flag forbids an indication."""
    temperature_c: Decimal | None
    """None where no fresh temperature is known."""
    flags: int
    """As in shared_calc.reading; 0: no fault, and the load is at rest."""

    @classmethod
    def from_text(cls, text: str) -> "Reading":
        """Read the text that the device wrote. Raises shared_calc.reading.ReadingError."""
        number, time_ms, counts, indication_g, temperature_c, flags = shared_reading.parse_reading(text)
        return cls(number, time_ms, counts, _decimal(indication_g), _decimal(temperature_c), flags)

    @property
    def faults(self) -> str:
        """The names of the faults that are flagged, or "OK"."""
        return str(shared_reading.format_flags(self.flags & shared_reading.FAULTS))


def _decimal(text: str) -> Decimal | None:
    return Decimal(text) if text else None
