"""Three certificates of an invented scenario, as facts. No such scale, laboratory or customer exists."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction

from scalewright.analysis.decision import RULES, Interval, decide
from scalewright.certificates.document import (
    Certificate,
    Condition,
    Eccentricity,
    Finding,
    Limits,
    LimitStep,
    MassFacts,
    Method,
    Override,
    Party,
    Point,
    Position,
    Proof,
    ScaleFacts,
    Series,
    Test,
)

INVENTED = "Invented scenario: no such scale, laboratory or customer exists."
LABORATORY = Party("Estuary Bench (invented)", "2 Tide Lane, Saltmarsh", "bench@example.org", "ZZ")
CUSTOMER = Party("Reed Island Canteen (invented)", "9 Sluice Road, Saltmarsh", "", "ZZ")
PROOF = Proof("20260302T081500Z-5a17c0de", 214, "9f2b" * 16)
RULE = RULES["guarded"]


def point(load_g: str, direction: str, error_g: str, u_g: float, limit_g: str, freedom: float = 60.0) -> Point:
    load, error, limit = Decimal(load_g), Fraction(Decimal(error_g)), Fraction(Decimal(limit_g))
    decision = decide(error, u_g, Interval(-limit, limit), RULE, 2)
    exact = Fraction(load)
    return Point(load, direction, exact, exact + error, u_g, freedom, 2.0, limit, decision.outcome)


def up_and_down(rows: Sequence[tuple[str, str, str, float, str]]) -> tuple[Point, ...]:
    """Each row: load, error going up, error coming down, u, limit."""
    up = [point(load, "up", rising, u, limit) for load, rising, _, u, limit in rows]
    down = [point(load, "down", falling, u, limit) for load, _, falling, u, limit in reversed(rows[:-1])]
    return (*up, *down)


def limits(source: str, steps: Sequence[tuple[str, str]]) -> Limits:
    found = tuple(LimitStep(Fraction(Decimal(up_to)), Fraction(Decimal(limit))) for up_to, limit in steps)
    return Limits(source, found, RULE.words, 0.023)


def positions(*rows: tuple[str, str, str, str]) -> tuple[Position, ...]:
    return tuple(Position(name, Decimal(x), Decimal(y), Fraction(Decimal(shown))) for name, x, y, shown in rows)


def series(load_g: str, indications_g: Sequence[str], s_g: float, limit_g: str) -> Series:
    shown = tuple(Fraction(Decimal(text)) for text in indications_g)
    return Series(Decimal(load_g), shown, s_g, Fraction(Decimal(limit_g)))


KITCHEN = Certificate(
    number="EB-2026-014",
    issued_at=datetime(2026, 3, 2, 11, 42, tzinfo=UTC),
    laboratory=LABORATORY,
    customer=CUSTOMER,
    scale=ScaleFacts(
        name="PLOVER",
        serial_number="PLV-0042",
        max_g=Decimal(3000),
        division_g=Decimal(1),
        e_g=Decimal(1),
        min_g=Decimal(20),
        accuracy_class="III",
        model="kitchen scale",
        place="canteen, serving hatch",
        condition="clean, feet level",
        firmware="scalewright 0.1.0",
        coefficients_crc="7C31A9E2",
        event_counter=5,
        seal="sealed",
    ),
    begun_on=date(2026, 3, 2),
    ended_on=date(2026, 3, 2),
    received_on=date(2026, 2, 27),
    place="Estuary Bench, room 1",
    location="laboratory",
    method=Method("errors at loads up and down, repeatability, eccentric loading", ("EURAMET cg-18 v4.0",)),
    tests=(
        Test(
            "as found",
            up_and_down(
                [
                    ("0", "0.02", "0.11", 0.09, "0.5"),
                    ("500", "0.55", "0.62", 0.10, "0.5"),
                    ("1000", "1.08", "1.19", 0.11, "1"),
                    ("2000", "2.21", "2.30", 0.13, "1"),
                    ("3000", "3.34", "3.34", 0.16, "1.5"),
                ]
            ),
        ),
        Test(
            "as left",
            up_and_down(
                [
                    ("0", "0.00", "0.08", 0.09, "0.5"),
                    ("500", "0.04", "0.12", 0.10, "0.5"),
                    ("1000", "-0.03", "0.09", 0.11, "1"),
                    ("1500", "0.05", "0.14", 0.12, "1"),
                    ("2000", "0.11", "0.19", 0.13, "1"),
                    ("2500", "0.02", "0.08", 0.15, "1.5"),
                    ("3000", "-0.06", "-0.06", 0.16, "1.5"),
                ]
            ),
            (series("1500", ["1500.04", "1500.09", "1499.98", "1500.11", "1500.02"], 0.0517, "1"),),
            Eccentricity(
                Decimal(1000),
                Fraction(1000),
                positions(
                    ("middle", "0", "0", "1000.02"),
                    ("front left", "-0.5", "-0.5", "1000.19"),
                    ("back left", "-0.5", "0.5", "999.87"),
                    ("back right", "0.5", "0.5", "999.91"),
                    ("front right", "0.5", "-0.5", "1000.14"),
                ),
                Fraction(1),
            ),
            (Finding("creep in 30 min", Fraction(21, 100), Fraction(1, 2), "g", "OIML R 76-1:2006, 3.9.4.1"),),
        ),
    ),
    proof=PROOF,
    calibrated_by="KM",
    authorised_by="TS",
    limits=limits(
        "OIML R 76-1:2006, table 6, class III, e = 1 g", [("500", "0.5"), ("2000", "1"), ("3000", "1.5")]
    ),
    adjustment="curve through 7 loads up and down, stored in the scale",
    masses=(
        MassFacts("set M", "EB-M-2", "F2", "SM-25-0311", "invented laboratory", date(2025, 6, 3), date(2027, 6, 3),
                  ("500 g", "1 kg", "2 kg")),
    ),
    conditions=(
        Condition("air temperature", Decimal("21.3"), Decimal("21.9"), "°C", Decimal("0.3"), "thermometer T-1"),
        Condition("relative humidity", Decimal(44), Decimal(46), "%", Decimal(3), "hygrometer T-1"),
        Condition("air pressure", Decimal("1012.6"), Decimal("1012.6"), "hPa"),
    ),
    remarks=("The scale was wiped before it was tested.",),
    scenario=INVENTED,
)  # fmt: skip

BALANCE = replace(
    KITCHEN,
    number="EB-2026-015",
    customer=Party("Saltmarsh Water Laboratory (invented)", "1 Lock Street, Saltmarsh", "", "ZZ"),
    scale=ScaleFacts(
        "SANDERLING", "SND-0007", Decimal(200), Decimal("0.001"), Decimal("0.01"), Decimal("0.02"), "II",
        model="laboratory balance", place="balance room", firmware="scalewright 0.1.0", coefficients_crc="01F4B2C8",
        event_counter=2, seal="sealed",
    ),
    tests=(
        Test(
            "as found and as left",
            up_and_down(
                [
                    ("0", "0.00004", "0.00021", 0.00041, "0.005"),
                    ("50", "0.00052", "0.00071", 0.00047, "0.005"),
                    ("100", "0.00087", "0.00123", 0.00060, "0.01"),
                    ("150", "-0.00041", "0.00011", 0.00079, "0.01"),
                    ("200", "-0.00093", "-0.00093", 0.00101, "0.01"),
                ]
            ),
            (series("100", ["100.0009", "100.0002", "100.0014", "100.0011", "100.0006", "100.0008"], 0.00042, "0.01"),),
        ),
    ),
    limits=limits("OIML R 76-1:2006, table 6, class II, e = 0.01 g", [("50", "0.005"), ("200", "0.01")]),
    adjustment="",
    received_on=None,
    remarks=(),
)  # fmt: skip

PLATFORM = replace(
    KITCHEN,
    number="EB-2026-016",
    customer=Party("Oxbow Feed Store (invented)", "Landing 3, Saltmarsh", "", "ZZ"),
    scale=ScaleFacts(
        "BITTERN", "BTN-0311", Decimal(150_000), Decimal(50), Decimal(50), Decimal(1000), "III",
        model="platform scale", place="loading bay", firmware="scalewright 0.1.0", coefficients_crc="C0A81E77",
        event_counter=11, seal="open",
    ),
    tests=(
        Test(
            "as found and as left",
            up_and_down(
                [
                    ("0", "0", "4", 14.6, "25"),
                    ("25000", "-11.3", "-3.1", 14.7, "25"),
                    ("50000", "-24.8", "-12.2", 15.1, "50"),
                    ("100000", "-71.5", "-49.6", 16.8, "50"),
                    ("150000", "-128.4", "-128.4", 19.2, "75"),
                ]
            ),
        ),
    ),
    limits=limits("OIML R 76-1:2006, table 6, class III, e = 50 g", [("25000", "25"), ("100000", "50"),
                                                                      ("150000", "75")]),
    adjustment="",
    masses=(MassFacts("20 kg block weights", "EB-B-1", "M1", due=date(2026, 2, 1), pieces=("20 kg",)),),
    overrides=(Override("the set was due on 2026-02-01", "checked against set M this morning, no change", "KM"),),
    remarks=(),
    place="Oxbow Feed Store, loading bay",
    location="customer",
)  # fmt: skip

CASES = {"kitchen": KITCHEN, "balance": BALANCE, "platform": PLATFORM}
