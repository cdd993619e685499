"""What the registers hold: scales, sets of reference masses, and the instruments that measure their surroundings.

Plain values, checked when they are made: whatever cannot be is one InputError that names the item and the field.
"""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from decimal import Context, Decimal
from fractions import Fraction
from typing import Any, Protocol

from scalewright.errors import InputError
from scalewright.handbook_44 import Handbook44Class
from scalewright.own_tolerance import OwnTolerance
from scalewright.tolerances import AccuracyClass
from scalewright.weight_classes import WeightClass

Limits = AccuracyClass | Handbook44Class | OwnTolerance
STATES = ("in use", "retired")
PANS = ("rectangular", "round", "suspended")
"""suspended: the load hangs below one point, so there is no eccentricity to test"""
UNITS = {"thermometer": "°C", "barometer": "hPa", "hygrometer": "%"}
"""kind of instrument -> the unit it is read in"""
_MARKS = frozenset("._-")
_SIZES = Decimal("1e-9"), Decimal("1e9")  # of an amount above 0
_MOST_DIGITS = 30
_SIX_DIGITS = Context(prec=6)
_MOST_PIECES = 200
_NOMINAL = Decimal("0.1")  # further from its nominal value, a mass is that of another piece, or in another unit


def initials(text: str) -> str:
    """Return a person's initials in capitals: 2 to 4 letters, and nothing more of a person. Raises InputError."""
    capitals = text.strip().upper()
    if not (capitals.isalpha() and 2 <= len(capitals) <= 4):
        raise InputError(f"initials {text[:40]!a}; expected 2 to 4 letters")
    return capitals


def line_of_text(text: str, what: str, most: int = 200) -> str:
    """Return what a person wrote if it is one line with something on it, else raise InputError."""
    if not text.strip() or not text.isprintable() or len(text) > most:
        raise InputError(f"{what} {text[:40]!a}; expected a line of text of 1 to {most} characters")
    return text


def months_later(day: date, months: int) -> date:
    """Return the same day so many months later; the last day of a month that is too short for it."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


class Identified(Protocol):
    """What a device says of itself; see scalewright.link.scale.Identity."""

    @property
    def model(self) -> str: ...
    @property
    def serial_number(self) -> str: ...
    @property
    def firmware(self) -> str: ...
    @property
    def coefficients(self) -> str: ...
    @property
    def events(self) -> int: ...


@dataclass(frozen=True)
class DeviceState:
    """A device as it was seen at one time."""

    at: str
    """UTC, ISO 8601, as the journal writes it"""
    model: str
    serial_number: str
    firmware: str
    coefficients: str
    """CRC-32 that names the coefficients in use, or "none" """
    events: int
    """its event counter, which nothing resets"""
    sealed: bool | None = None
    """None where nobody asked"""
    max_g: Decimal | None = None
    """Max by its coefficients; None where it has none, or nobody asked"""
    d_g: Decimal | None = None

    @classmethod
    def of(
        cls,
        identity: Identified,
        at: str,
        *,
        sealed: bool | None = None,
        max_g: Decimal | None = None,
        d_g: Decimal | None = None,
    ) -> "DeviceState":
        """Return the state of the device with this identity."""
        named = identity.model, identity.serial_number, identity.firmware, identity.coefficients, identity.events
        return cls(at, *named, sealed, max_g, d_g)


@dataclass(frozen=True)
class RegisteredScale:
    """A scale."""

    key: str
    """what it is called here, such as PLOVER-3"""
    model: str
    """as the device names itself; of a scale without a link, as its plate does"""
    serial_number: str
    max_g: Decimal
    d_g: Decimal
    limits: Limits
    """what its errors are held against"""
    min_g: Decimal = Decimal(0)
    """Min; 0: none is stated"""
    maker: str = ""
    place: str = ""
    """where it stands"""
    pan: str = PANS[0]
    """one of PANS"""
    supports: int = 4
    """points that carry the pan: they decide load and places of the eccentricity test (OIML R 76-1:2006, 3.6.2)"""
    interval_months: int | None = None
    """from one calibration to the next; None: as the owner decides each time"""
    calibrated: date | None = None
    """last calibration known when this was written; the journal may know of a later one"""
    seen: DeviceState | None = None
    """the device as it was last looked at for the register"""
    state: str = STATES[0]

    def __post_init__(self) -> None:
        what = _check_key("scale", self.key)
        _check_texts(self, what, "model", "serial_number", optional=("maker", "place"))
        _check_amounts(self, what, "max_g", "d_g")
        _check_one_of(self, what, pan=PANS, state=STATES)
        if not self.d_g < self.max_g:
            raise InputError(f"{what}: d = {self.d_g} g with Max = {self.max_g} g; expected a d below Max")
        if not 0 <= self.min_g < self.max_g:
            raise InputError(f"{what}: Min = {self.min_g} g; expected 0 or more, and below Max")
        if not 1 <= self.supports <= 99:
            raise InputError(f"{what}: {self.supports} supports; expected 1 to 99")
        if self.interval_months is not None and not 1 <= self.interval_months <= 120:
            raise InputError(f"{what}: an interval of {self.interval_months} months; expected 1 to 120")
        if self.seen is not None and self.seen.serial_number != self.serial_number:
            raise InputError(f"{what}: {self.seen.serial_number} answers; expected serial number {self.serial_number}")
        self.limits.permissible_error_g(Fraction(self.max_g))  # InputError where there is no limit at Max

    @property
    def e_g(self) -> Decimal:
        """The verification interval e; d where the limits know none."""
        if not isinstance(self.limits, AccuracyClass):
            return self.d_g
        return Decimal(self.limits.e_g.numerator) / self.limits.e_g.denominator

    def due(self, calibrated: date | None = None) -> date | None:
        """Return the last day before it is overdue; calibrated: when it was last, where later than registered."""
        days = [day for day in (self.calibrated, calibrated) if day is not None]
        return months_later(max(days), self.interval_months) if days and self.interval_months else None


@dataclass(frozen=True)
class Certificate:
    """The paper that values come from."""

    number: str
    issued_by: str
    on: date
    """the day of the calibration"""
    due: date | None = None
    """the last day its values are relied on; None: as the owner decides each time"""
    up_to_g: Decimal | None = None
    """masses: the heaviest piece it is for; None: it states no such bound"""

    def __post_init__(self) -> None:
        _check_texts(self, "certificate", "number", "issued_by")
        if self.due is not None and self.due <= self.on:
            raise InputError(f"certificate {self.number}: due on {self.due}; expected a day after {self.on}")
        if self.up_to_g is not None:
            _check_amounts(self, f"certificate {self.number}", "up_to_g")


@dataclass(frozen=True)
class Piece:
    """One reference mass of a set."""

    name: str
    """as it is marked, such as 200 or 200*"""
    nominal_g: Decimal
    conventional_mass_g: Decimal | None = None
    """from the certificate; None: it has no value for this piece"""
    expanded_u_g: Decimal | None = None
    """U of the conventional mass"""
    k: Decimal = Decimal(2)
    """coverage factor of U"""
    weight_class: str = ""
    """of OIML R 111; empty: none"""
    drift_g: Decimal = Decimal(0)
    """the most it may have changed since then"""
    density_kg_m3: Decimal = Decimal(7950)
    u_density_kg_m3: Decimal = Decimal(70)
    """standard uncertainty; these two are stainless steel by OIML R 111-1:2004, table B.7 (from memory)"""

    def __post_init__(self) -> None:
        if not self.name[:1].isalnum() or "+" in self.name or "," in self.name or self.name != self.name.strip():
            raise InputError(f"piece {self.name[:40]!a}; expected its marking, a letter or digit first, no + or comma")
        what = f"piece {line_of_text(self.name, 'piece', 20)}"
        _check_amounts(self, what, "nominal_g", "k", "density_kg_m3")
        _check_amounts(self, what, "drift_g", "u_density_kg_m3", low=Decimal(0))
        if (self.conventional_mass_g is None) != (self.expanded_u_g is None):
            raise InputError(f"{what}: expected conventional mass and its uncertainty, or neither")
        if self.conventional_mass_g is not None:
            _check_amounts(self, what, "conventional_mass_g", "expanded_u_g")
            if not abs(self.conventional_mass_g / self.nominal_g - 1) <= _NOMINAL:
                raise InputError(f"{what}: {self.conventional_mass_g} g; expected within 10 % of {self.nominal_g} g")
        if self.weight_class:
            self.class_error_g  # noqa: B018  InputError where the class has no such weight

    @property
    def class_error_g(self) -> Fraction | None:
        """The maximum permissible error of its class; None without a class."""
        if not self.weight_class:
            return None
        return WeightClass(self.weight_class).permissible_error_g(Fraction(self.nominal_g))

    @property
    def mass_g(self) -> Decimal:
        """Its conventional mass; the nominal value where nothing better is known."""
        return self.nominal_g if self.conventional_mass_g is None else self.conventional_mass_g

    @property
    def u_g(self) -> Decimal | None:
        """Standard uncertainty of mass_g to six digits; None where nothing is known of it.

        U / k and the drift as the half width of a rectangle; without a certified value the maximum permissible error
        of the class over sqrt 3 (EURAMET cg-18 v4.0, 7.1.2, from memory).
        """
        if self.expanded_u_g is not None:
            return _SIX_DIGITS.plus(((self.expanded_u_g / self.k) ** 2 + self.drift_g**2 / 3).sqrt())
        if self.class_error_g is None:
            return None
        u2 = self.class_error_g**2 / 3
        return _SIX_DIGITS.plus((Decimal(u2.numerator) / u2.denominator).sqrt())


@dataclass(frozen=True)
class MassSet:
    """Reference masses that are kept and calibrated together."""

    key: str
    """what it is called here, such as BOX-F1"""
    pieces: tuple[Piece, ...]
    certificate: Certificate | None = None
    serial_number: str = ""
    correlation: Decimal = Decimal(1)
    """between any two pieces: 1 where they were calibrated against one standard, 0 where independently"""
    state: str = STATES[0]

    def __post_init__(self) -> None:
        what = _check_key("mass set", self.key)
        _check_texts(self, what, optional=("serial_number",))
        _check_one_of(self, what, state=STATES)
        names = [piece.name for piece in self.pieces]
        if not 1 <= len(names) <= _MOST_PIECES:
            raise InputError(f"{what}: {len(names)} pieces; expected 1 to {_MOST_PIECES}")
        for name in names:
            if names.count(name) > 1:
                raise InputError(f"{what}: piece {name} twice; expected each marking once, such as 200 and 200*")
        if not 0 <= self.correlation <= 1:
            raise InputError(f"{what}: correlation {self.correlation}; expected 0 to 1")

    def piece(self, name: str) -> Piece:
        """Return the piece with this marking. Raises InputError where there is none."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        names = ", ".join(piece.name for piece in self.pieces)
        raise InputError(f"mass set {self.key} has no piece {name[:40]!a}; expected one of {names}")

    @property
    def due(self) -> date | None:
        return None if self.certificate is None else self.certificate.due


@dataclass(frozen=True)
class Instrument:
    """A thermometer, barometer or hygrometer."""

    key: str
    kind: str
    """one of UNITS"""
    expanded_u: Decimal
    """U of a corrected reading, in its unit"""
    k: Decimal = Decimal(2)
    correction: Decimal = Decimal(0)
    """what is added to a reading, in its unit"""
    certificate: Certificate | None = None
    model: str = ""
    serial_number: str = ""
    place: str = ""
    state: str = STATES[0]

    def __post_init__(self) -> None:
        what = _check_key("instrument", self.key)
        _check_texts(self, what, optional=("model", "serial_number", "place"))
        _check_one_of(self, what, kind=tuple(UNITS), state=STATES)
        _check_amounts(self, what, "expanded_u", "k")
        _check_amounts(self, what, "correction", low=None)

    @property
    def unit(self) -> str:
        return UNITS[self.kind]

    @property
    def u(self) -> Decimal:
        """Standard uncertainty of a corrected reading."""
        return self.expanded_u / self.k

    @property
    def due(self) -> date | None:
        return None if self.certificate is None else self.certificate.due

    def corrected(self, reading: Decimal) -> Decimal:
        """Return what is true when it shows this."""
        return reading + self.correction


def _check_key(what: str, key: str) -> str:
    """Return the name of the item for messages."""
    if not (key[:1].isalnum() and key.isascii() and len(key) <= 40 and all(c.isalnum() or c in _MARKS for c in key)):
        raise InputError(f"{what} {key[:40]!a}; expected a key of 1 to 40 letters, digits and . _ -, such as PLOVER-3")
    return f"{what} {key}"


def _check_texts(item: Any, what: str, *needed: str, optional: tuple[str, ...] = ()) -> None:
    for name in (*needed, *optional):
        text = getattr(item, name)
        if name in needed or text:
            line_of_text(text, f"{what}: {name}")


def _check_one_of(item: Any, what: str, **choices: tuple[str, ...]) -> None:
    for name, expected in choices.items():
        if getattr(item, name) not in expected:
            raise InputError(f"{what}: {name} {getattr(item, name)[:40]!a}; expected one of {', '.join(expected)}")


def _check_amounts(item: Any, what: str, *names: str, low: Decimal | None = _SIZES[0]) -> None:
    """Hold each number to a sane size and number of digits; low: None where it may be below 0."""
    for name in names:
        value: Decimal = getattr(item, name)
        is_sane = value.is_finite() and abs(value) <= _SIZES[1] and len(value.as_tuple().digits) <= _MOST_DIGITS
        if not is_sane or (low is not None and value < low):
            bounds = f"from {low or 0} to {_SIZES[1]}" if low is not None else f"within {_SIZES[1]}"
            raise InputError(f"{what}: {name} = {str(value)[:40]}; expected a number {bounds}")
