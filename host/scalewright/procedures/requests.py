"""What a procedure may ask for, and the answers it gets. All of it is plain data that a journal can keep and replay."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


@dataclass(frozen=True)
class Load:
    """A load that a procedure works with."""

    load_g: Decimal
    """its conventional mass, as well as it is known; 0: nothing"""
    pieces: tuple[str, ...] = ()
    """the reference masses it is put together from, as they are marked; empty: whatever has this mass"""
    u_load_g: Decimal | None = None
    """standard uncertainty of load_g (k = 1); None where it is not stated"""


NOTHING = Load(Decimal(0))


@dataclass(frozen=True)
class Place:
    """Where on the pan, seen from the front: shares of its half width and half depth from the middle."""

    name: str
    x: Decimal
    """-1 left edge, 1 right edge"""
    y: Decimal
    """-1 front edge, 1 back edge"""


MIDDLE = Place("middle", Decimal(0), Decimal(0))


@dataclass(frozen=True)
class PlaceLoad:
    """Put exactly this load on the scale. Answer: None."""

    load_g: Decimal
    """0: clear the pan"""
    pieces: tuple[str, ...] = ()
    """as in Load"""
    at: Place = MIDDLE
    added_g: Decimal = Decimal(0)
    """small weights put on as well, beside the load"""
    ballast_g: Decimal = Decimal(0)
    """any material put on as well, until the scale shows about so much of it; what is on already stays as it is"""

    @classmethod
    def of(cls, load: Load, at: Place = MIDDLE) -> "PlaceLoad":
        """Return the request for a load."""
        return cls(load.load_g, load.pieces, at)


@dataclass(frozen=True)
class TiltScale:
    """Put the scale out of level. Answer: None."""

    x_per_mille: int
    """right side down, in thousandths of the length"""
    y_per_mille: int
    """back side down"""


@dataclass(frozen=True)
class SetAir:
    """Bring the air around the scale to this temperature; the scale follows in its own time. Answer: None."""

    air_c: Decimal


@dataclass(frozen=True)
class Restart:
    """Switch the scale off, leave it off, and switch it on again: its clock starts anew. Answer: None."""

    off_s: int
    """how long it stays off at least"""


@dataclass(frozen=True)
class Do:
    """Anything else to be done by hand. Answer: None."""

    instruction: str


@dataclass(frozen=True)
class Ask:
    """A question to the person at the bench. Answer: text, one of the choices where there are any."""

    question: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class Expected:
    """What a reading must be like if the load is the one asked for."""

    load_g: Decimal
    counts: int
    """what the load should give"""
    within_counts: int
    """how far from that a right load can be"""
    counts_per_g: Decimal


@dataclass(frozen=True)
class TakeStillReading:
    """Wait until the load is at rest and take `readings` raw counts. Answer: StillReading."""

    readings: int
    expected: Expected | None = None
    """None where nothing is known of what the load should give"""
    unlike: "StillReading | None" = None
    """of the load before, where all that is known is that this one must give something else"""


@dataclass(frozen=True)
class TakeReading:
    """Take the next `readings` raw counts, at rest or not. Answer: StillReading."""

    readings: int


@dataclass(frozen=True)
class WaitUntil:
    """Let the scale stand until its own clock shows this time. Answer: Moment."""

    time_ms: int
    since_ms: int
    """when the wait began by the same clock; a clock that shows less was started anew"""
    latest_ms: int | None = None
    """when it is too late for what comes next; None: never"""


@dataclass(frozen=True)
class TakeIndication:
    """Wait until the load is at rest and the scale calls its indication stable. Answer: Indication."""

    readings: int
    """how many raw counts must agree with as many before them"""
    expected: Expected | None = None
    """as in TakeStillReading"""


@dataclass(frozen=True)
class SetZero:
    """Have the scale set itself to zero. Answer: None."""


@dataclass(frozen=True)
class SetTare:
    """Have the scale take what stands on it as tare. Answer: None."""


@dataclass(frozen=True)
class ClearZeroAndTare:
    """Have the scale forget zero setting and tare. Answer: None."""


@dataclass(frozen=True)
class ReadCoefficients:
    """Read the encoded coefficient record that the device weighs with. Answer: its bytes, none where it has none."""


@dataclass(frozen=True)
class StoreCoefficients:
    """Store these coefficients in the device and read them back. Answer: what was read back, as bytes."""

    data: bytes


Setting = PlaceLoad | TiltScale | SetAir | Restart | Do
"""What is done with the hands."""
Request = (
    Setting
    | Ask
    | TakeStillReading
    | TakeReading
    | WaitUntil
    | TakeIndication
    | SetZero
    | SetTare
    | ClearZeroAndTare
    | ReadCoefficients
    | StoreCoefficients
)


@dataclass(frozen=True)
class StillReading:
    """Readings of a load at rest."""

    counts_sum: int
    """the sum of the raw counts, so that the mean is exact"""
    readings: int
    """how many there are"""
    spread_counts: int
    """the largest less the smallest"""
    time_ms: int
    """device time of the last"""
    temperature_c: Decimal | None = None
    """of the scale at the last; None where it is not known"""

    @property
    def mean_counts(self) -> Fraction:
        """The mean of the raw counts, exact."""
        return Fraction(self.counts_sum, self.readings)


@dataclass(frozen=True)
class Indication:
    """What the scale shows at rest, rounded to its division, zero and tare taken off."""

    indication_g: Decimal
    counts: int
    """raw ADC counts of the same reading"""
    time_ms: int
    """device time"""


@dataclass(frozen=True)
class Moment:
    """A time by the device's own clock."""

    time_ms: int


ANSWERS: dict[type, type | None] = {
    TakeStillReading: StillReading,
    TakeReading: StillReading,
    TakeIndication: Indication,
    WaitUntil: Moment,
    Ask: str,
    ReadCoefficients: bytes,
    StoreCoefficients: bytes,
}
"""What is answered to a request; None to all others."""
Answer = StillReading | Indication | Moment | str | bytes | None
