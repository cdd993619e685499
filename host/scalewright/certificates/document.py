"""The facts of a certificate: what every form of it says, on paper, on a screen and for other programs.

Masses are in grams. Nothing here is rounded and nothing is worded; `sheet` does both, once for all forms.
"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from shlex import quote

from scalewright.analysis.budget import PROBABILITY


@dataclass(frozen=True)
class Party:
    """Who calibrated, or for whom."""

    name: str
    address: str = ""
    contact: str = ""
    """how to reach them: telephone, mail"""
    country: str = ""
    """two letters of ISO 3166-1; empty where not stated"""


@dataclass(frozen=True)
class ScaleFacts:
    """The scale that was calibrated, as it was found."""

    name: str
    serial_number: str
    max_g: Decimal
    division_g: Decimal
    e_g: Decimal | None = None
    """verification interval e; None where the scale has none"""
    min_g: Decimal | None = None
    accuracy_class: str = ""
    maker: str = ""
    model: str = ""
    place: str = ""
    condition: str = ""
    """what was noted of its condition when it was taken over"""
    firmware: str = ""
    coefficients_crc: str = ""
    """CRC-32 of the coefficients it weighs with as it was left"""
    event_counter: int | None = None
    """how often what it shows was changed, as it was left"""
    seal: str = ""


@dataclass(frozen=True)
class MassFacts:
    """Reference masses that were used, and where their values come from."""

    name: str
    serial_number: str = ""
    weight_class: str = ""
    certificate: str = ""
    """number of the certificate their values come from; empty: taken at their nominal value, by class"""
    calibrated_by: str = ""
    calibrated_on: date | None = None
    due: date | None = None
    pieces: tuple[str, ...] = ()
    """those that were used, as they are marked"""


@dataclass(frozen=True)
class Condition:
    """One property of the surroundings during the calibration."""

    name: str
    low: Decimal
    high: Decimal
    unit: str
    expanded_u: Decimal | None = None
    """k = 2"""
    instrument: str = ""


@dataclass(frozen=True)
class Share:
    """How much one cause adds to the standard uncertainty of an error."""

    name: str
    u_g: float


@dataclass(frozen=True)
class Point:
    """The error of indication at one load."""

    load_g: Decimal
    """nominal"""
    direction: str
    """up or down; empty where it makes no difference"""
    reference_g: Fraction
    """conventional mass of what stood on the scale"""
    indication_g: Fraction
    """zero taken off"""
    u_error_g: float
    degrees_of_freedom: float
    k: float
    limit_g: Fraction | None = None
    """None where nothing is to be decided at this load"""
    outcome: str = ""
    """one of the answers of `analysis.decision`; empty without a limit"""
    shares: tuple[Share, ...] = ()

    @property
    def error_g(self) -> Fraction:
        return self.indication_g - self.reference_g

    @property
    def expanded_u_g(self) -> float:
        return self.k * self.u_error_g


@dataclass(frozen=True)
class Series:
    """The same load put on again and again."""

    load_g: Decimal
    indications_g: tuple[Fraction, ...]
    s_g: float
    """experimental standard deviation of one indication"""
    limit_g: Fraction | None = None
    """how far the largest may be from the smallest"""

    @property
    def range_g(self) -> Fraction:
        return max(self.indications_g) - min(self.indications_g)


@dataclass(frozen=True)
class Position:
    """A load somewhere on the pan."""

    name: str
    x: Decimal
    """share of the half width, right of the middle"""
    y: Decimal
    """share of the half depth, behind the middle"""
    indication_g: Fraction


@dataclass(frozen=True)
class Eccentricity:
    """The same load in several places on the pan."""

    load_g: Decimal
    reference_g: Fraction
    """conventional mass of what stood there"""
    positions: tuple[Position, ...]
    """the first is what the others are compared with"""
    limit_g: Fraction | None = None
    """how far the error may be from zero in any place"""

    def difference_g(self, position: Position) -> Fraction:
        return position.indication_g - self.positions[0].indication_g

    def error_g(self, position: Position) -> Fraction:
        return position.indication_g - self.reference_g


@dataclass(frozen=True)
class Finding:
    """One figure of a further test."""

    what: str
    value: Fraction
    limit: Fraction
    unit: str
    source: str
    """where the limit comes from"""

    @property
    def passes(self) -> bool:
        return abs(self.value) <= self.limit


@dataclass(frozen=True)
class Test:
    """What was found of the scale in one state."""

    state: str
    """as found, or as left"""
    points: tuple[Point, ...]
    repeatability: tuple[Series, ...] = ()
    eccentricity: Eccentricity | None = None
    findings: tuple[Finding, ...] = ()
    """further tests: creep, tilt and so on"""

    @property
    def conforms(self) -> bool | None:
        """Whether every error that has a limit was accepted and the rest is within theirs; None without any limit."""
        answers = [point.outcome in ("accept", "conditional accept") for point in self.points if point.outcome]
        answers += [series.range_g <= series.limit_g for series in self.repeatability if series.limit_g is not None]
        ecc = self.eccentricity
        if ecc is not None and ecc.limit_g is not None:
            answers.append(all(abs(ecc.error_g(position)) <= ecc.limit_g for position in ecc.positions))
        answers += [finding.passes for finding in self.findings]
        return all(answers) if answers else None

    @property
    def largest(self) -> Point:
        """The point with the largest error, of either sign."""
        return max(self.points, key=lambda point: abs(point.error_g))


@dataclass(frozen=True)
class RawReading:
    """What the scale answered under one load at rest: what every result is computed from."""

    load_g: Decimal
    """as the plan knows it"""
    pieces: tuple[str, ...]
    added_g: Decimal
    """small weights beside it"""
    ballast_g: Decimal
    """ballast in place of reference masses below it"""
    at: str
    """where on the pan"""
    counts_sum: int
    readings: int
    """how many raw counts the sum is of"""
    spread_counts: int
    time_ms: int
    """by the clock of the device"""
    temperature_c: Decimal | None


@dataclass(frozen=True)
class LimitStep:
    """A stretch of the range over which the limit is the same."""

    up_to_g: Fraction
    limit_g: Fraction


@dataclass(frozen=True)
class Limits:
    """What the errors are held against, and how it is decided."""

    source: str
    """standard, clause, class"""
    steps: tuple[LimitStep, ...]
    rule: str
    """the decision rule in words"""
    largest_false_accept: float
    """the chance that an error exactly at the acceptance limit is outside the tolerance"""


@dataclass(frozen=True)
class Method:
    """How it was done."""

    procedure: str
    norms: tuple[str, ...]
    deviations: tuple[str, ...] = ()


@dataclass(frozen=True)
class Override:
    """A guard that was set aside, and why."""

    objection: str
    reason: str
    by: str


@dataclass(frozen=True)
class Proof:
    """What ties a certificate to the record it was made from."""

    job: str
    seq: int
    head: str
    """hash of the entry with which the certificate was issued: it proves that and all before it"""
    records: str = "scalewright.sqlite"
    """what the records file was called"""

    @property
    def command(self) -> str:
        """What to type in a shell to prove it; a file name that would do more there is quoted."""
        name = f"./{self.records}" if self.records.startswith("-") else self.records
        return f"scalewright records verify {quote(name)} --head {self.head}"


@dataclass(frozen=True)
class Certificate:
    """Everything one certificate says."""

    number: str
    issued_at: datetime
    laboratory: Party
    customer: Party
    scale: ScaleFacts
    begun_on: date
    ended_on: date
    place: str
    location: str
    """whose place that is: laboratory, customer or other"""
    method: Method
    tests: tuple[Test, ...]
    """as found, then as left; one of them where nothing was adjusted"""
    proof: Proof
    calibrated_by: str
    """initials"""
    authorised_by: str
    """initials"""
    limits: Limits | None = None
    adjustment: str = ""
    """what was adjusted between the tests; empty: nothing"""
    masses: tuple[MassFacts, ...] = ()
    conditions: tuple[Condition, ...] = ()
    overrides: tuple[Override, ...] = ()
    remarks: tuple[str, ...] = ()
    received_on: date | None = None
    replaces: str = ""
    """number of the certificate that this one takes the place of"""
    replaced_because: str = ""
    raw: tuple[RawReading, ...] = ()
    """in the order they were taken"""
    scenario: str = ""
    """set where all of it is invented"""
    coverage_probability: float = PROBABILITY

    @property
    def final(self) -> Test:
        """The scale as it was left."""
        return self.tests[-1]
