"""The tables of a certificate, in printed words and digits."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from scalewright.certificates import wording
from scalewright.certificates.document import (
    Certificate,
    Condition,
    Eccentricity,
    Finding,
    MassFacts,
    Point,
    Series,
    Test,
)
from scalewright.certificates.figures import Figures, decimal
from scalewright.certificates.print_units import NO_BREAK, PrintUnits
from scalewright.certificates.rounding import printed, rounded_u, to_place

NONE = "\N{EN DASH}"
"""what stands where there is nothing to say"""


@dataclass(frozen=True)
class Table:
    """Rows under headings; a heading stays on one line."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: tuple[int, ...] = ()
    """columns that hold words; the others hold numbers"""
    note: str = ""

    def __post_init__(self) -> None:
        unbroken = tuple(heading.replace(" / ", f"{NO_BREAK}/{NO_BREAK}") for heading in self.headings)
        object.__setattr__(self, "headings", unbroken)


def errors(test: Test, units: PrintUnits) -> Table:
    """Return what every load showed."""
    load, error = units.load_symbol, units.error_symbol
    masses = (f"Load / {load}", "", f"Indication / {load}", f"Error / {error}", f"U / {error}")
    headings = (*masses, "k", "\N{GREEK SMALL LETTER NU}", f"Limit / {error}", "Decision")
    rows = tuple(_point(point, units) for point in test.points)
    return Table(f"{test.state.capitalize()}: {wording.verdict(test)}", headings, rows, (1, 8))


def _point(point: Point, units: PrintUnits) -> tuple[str, ...]:
    figures = Figures.of(point, units)
    freedom = figures.degrees_of_freedom
    return (
        printed(figures.load),
        point.direction,
        printed(figures.indication),
        printed(figures.error, signed=True),
        printed(figures.expanded_u),
        str(figures.k),
        "\N{INFINITY}" if freedom is None else str(freedom),
        NONE if figures.limit is None else f"±{NO_BREAK}{printed(figures.limit)}",
        wording.ANSWERS.get(point.outcome, NONE),
    )


def further(test: Test, units: PrintUnits) -> tuple[Table, ...]:
    """Return the small tables of one test that have rows."""
    eccentric = [_eccentricity(test.eccentricity, test.state, units)] if test.eccentricity else []
    tables = (_repeatability(test, units), *eccentric, _findings(test.findings, test.state))
    return tuple(table for table in tables if table.rows)


def budget(test: Test, units: PrintUnits) -> Table:
    """Return what the uncertainty at the heaviest load is made of; no rows where nothing is known of it."""
    point = max(test.points, key=lambda point: point.load_g)
    parts = [(share.name, share.u_g) for share in point.shares]
    rows = [(name, printed(rounded_u(units.error(u_g)))) for name, u_g in parts if u_g]
    rows += [("combined", printed(rounded_u(units.error(point.u_error_g))))] if rows else []
    title = f"Standard uncertainty at {units.with_load_unit(point.load_g)}, {test.state}"
    return Table(title, ("Cause", f"u / {units.error_symbol}"), tuple(rows), (0,))


def about(certificate: Certificate) -> tuple[Table, ...]:
    """Return the tables that have rows of what was used, and of what was set aside."""
    overrides = tuple((override.objection, override.reason, override.by) for override in certificate.overrides)
    aside = Table("Guards set aside", ("What objected", "Why the work went on", "By"), overrides, (0, 1, 2))
    tables = (_masses(certificate.masses), _conditions(certificate.conditions), aside)
    return tuple(table for table in tables if table.rows)


def _repeatability(test: Test, units: PrintUnits) -> Table:
    load, error = units.load_symbol, units.error_symbol
    headings = (f"Load / {load}", "n", f"s / {error}", f"Range / {error}", f"Limit / {error}")
    rows = tuple(_series(series, units) for series in test.repeatability)
    return Table(f"Repeatability, {test.state}", headings, rows)


def _series(series: Series, units: PrintUnits) -> tuple[str, ...]:
    s = units.error(series.s_g)
    spread = units.error(series.range_g)
    return (
        printed(units.load(series.load_g)),
        str(len(series.indications_g)),
        printed(rounded_u(s)) if s else "0",
        printed(to_place(spread, rounded_u(s))) if s else _plain(spread),
        NONE if series.limit_g is None else _plain(units.error(series.limit_g)),
    )


def _eccentricity(ecc: Eccentricity, state: str, units: PrintUnits) -> Table:
    error = units.error_symbol
    rows = tuple(
        (
            position.name,
            printed(units.fine_error(ecc.difference_g(position)), signed=True),
            printed(units.fine_error(ecc.error_g(position)), signed=True),
        )
        for position in ecc.positions
    )
    limit = "" if ecc.limit_g is None else f"Limit of the error: ± {_plain(units.error(ecc.limit_g))} {error}."
    title = f"Eccentric loading, {units.with_load_unit(ecc.load_g)}, {state}"
    return Table(title, ("Position", f"Difference / {error}", f"Error / {error}"), rows, (0,), limit)


def _findings(findings: Sequence[Finding], state: str) -> Table:
    rows = tuple(
        (
            finding.what,
            f"{float(finding.value):.3g}".replace("-", "\N{MINUS SIGN}"),
            f"{float(finding.limit):.3g}",
            finding.unit,
            "within" if finding.passes else "outside",
        )
        for finding in findings
    )
    return Table(f"Further tests, {state}", ("Test", "Found", "Limit", "Unit", ""), rows, (0, 3, 4))


def _masses(masses: Sequence[MassFacts]) -> Table:
    rows = tuple(
        (
            joined(mass.name, mass.serial_number),
            mass.weight_class or NONE,
            ", ".join(mass.pieces) or NONE,
            joined(mass.certificate or "none on record", mass.calibrated_by, day(mass.calibrated_on)),
            day(mass.due) or NONE,
        )
        for mass in masses
    )
    headings = ("Set", "Class", "Pieces used", "Certificate", "Valid until")
    return Table("Reference masses", headings, rows, (0, 1, 2, 3, 4))


def _conditions(conditions: Sequence[Condition]) -> Table:
    rows = tuple((condition.name, _span(condition), condition.instrument or NONE) for condition in conditions)
    return Table("Conditions during the calibration", ("Quantity", "Value", "Read from"), rows, (0, 1, 2))


def _span(condition: Condition) -> str:
    low, high = printed(condition.low), printed(condition.high)
    value = low if low == high else f"{low} to {high}"
    u = f" ± {printed(condition.expanded_u)}" if condition.expanded_u else ""
    return f"{value}{u} {condition.unit}" if not u else f"({value}){u} {condition.unit}"


def joined(*parts: str) -> str:
    """Return the parts there are, with commas between them."""
    return ", ".join(part for part in parts if part)


def day(value: date | None) -> str:
    """Return a date by ISO 8601; nothing where there is none."""
    return value.isoformat() if value else ""


def _plain(value: Fraction) -> str:
    return printed(decimal(value))
