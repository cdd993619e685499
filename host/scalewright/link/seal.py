"""The seal, the last verification and the events of a device, as its owner wants to see them."""

from dataclasses import dataclass

from scalewright.errors import LinkError
from scalewright.link.scale import Scale


@dataclass(frozen=True)
class DeviceEvent:
    """Something that trust in the scale depends on."""

    number: int
    device_time_s: int
    """Since the start of the device then: it has no calendar."""
    reason: str
    coefficients_before: str
    """CRC-32 that names them, or "none"."""
    coefficients_after: str


@dataclass(frozen=True)
class SealState:
    """What the device says of its seal."""

    sealed: bool
    verification: str
    """ACCEPTED, REJECTED or NONE."""
    remark: str
    """Why it was rejected."""
    number_of_events: int
    last_events: tuple[DeviceEvent, ...]
    """Newest first."""

    @classmethod
    def read(cls, scale: Scale) -> "SealState":
        """Ask the device. Raises LinkError where its answer makes no sense."""
        texts = [scale.ask(query) for query in ("CALibration:SEAL?", "CALibration:VERification?", "SYSTem:EVENts?")]
        try:
            verification, remark = texts[1].split(",", 1)
            count, *events = texts[2].split(";")
            return cls(texts[0] == "1", verification, remark.strip('"'), int(count), tuple(map(_event, events)))
        except (ValueError, TypeError) as error:
            raise LinkError(f"seal and events make no sense: {texts}", port=scale.url) from error


def _event(text: str) -> DeviceEvent:
    number, time_s, *words = text.split(",")
    return DeviceEvent(int(number), int(time_s), *words)
