"""What a certificate says, in printed words and digits: one sheet that paper, screen and spreadsheet show alike."""

from collections.abc import Sequence
from dataclasses import dataclass

from scalewright.certificates import wording
from scalewright.certificates.document import Certificate, Party, ScaleFacts, Test
from scalewright.certificates.figures import Figures
from scalewright.certificates.print_units import NO_BREAK, PrintUnits
from scalewright.certificates.rounding import printed
from scalewright.certificates.tables import NONE, Table, about, budget, day, errors, further, joined


@dataclass(frozen=True)
class Group:
    """Facts that belong together, each with its label."""

    title: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Sheet:
    """The certificate as it is read."""

    title: str
    number: str
    scenario: str
    laboratory: tuple[str, ...]
    customer: tuple[str, ...]
    summary: tuple[tuple[str, str], ...]
    conforms: bool | None
    groups: tuple[Group, ...]
    results: tuple[Table, ...]
    """the errors, as found and as left"""
    side_by_side: tuple[Table, ...]
    """the smaller tests"""
    tables: tuple[Table, ...]
    """what was used, and what was set aside"""
    statements: tuple[tuple[str, str], ...]
    proof: str
    head: str
    command: str
    issued: str
    authorised_by: str


def sheet(certificate: Certificate) -> Sheet:
    """Return everything that the certificate says."""
    units = PrintUnits.of(certificate.scale)
    limits = certificate.limits
    statements = [
        ("Uncertainty", wording.uncertainty(certificate)),
        *([("Conformity", wording.decision(limits))] if limits else []),
        ("Traceability", wording.traceability(certificate.masses)),
        ("Scope", wording.SCOPE),
        ("What this is not", wording.NOT_LEGAL),
        *(("Remark", remark) for remark in certificate.remarks),
    ]
    return Sheet(
        title=wording.TITLE,
        number=certificate.number,
        scenario=certificate.scenario,
        laboratory=_party(certificate.laboratory),
        customer=_party(certificate.customer),
        summary=_summary(certificate, units),
        conforms=certificate.final.conforms,
        groups=(_scale(certificate.scale, units), _calibration(certificate)),
        results=tuple(errors(test, units) for test in certificate.tests),
        side_by_side=_side_by_side(certificate.tests, units),
        tables=about(certificate),
        statements=tuple(statements),
        proof=wording.proof(certificate),
        head=certificate.proof.head,
        command=certificate.proof.command,
        issued=certificate.issued_at.date().isoformat(),
        authorised_by=certificate.authorised_by,
    )


def _side_by_side(tests: Sequence[Test], units: PrintUnits) -> tuple[Table, ...]:
    """Return the smaller tables, what was found before the adjustment beside what was left after it."""
    found = [further(test, units) for test in tests]
    is_alike = len({len(tables) for tables in found}) == 1
    tables = [table for row in (zip(*found, strict=True) if is_alike else found) for table in row]
    made_of = budget(tests[-1], units)
    return (*tables, *([made_of] if made_of.rows else []))


def _party(party: Party) -> tuple[str, ...]:
    return tuple(line for line in (party.name, party.address, party.contact) if line)


def _summary(certificate: Certificate, units: PrintUnits) -> tuple[tuple[str, str], ...]:
    largest = certificate.final.largest
    figures = Figures.of(largest, units)
    error = f"{printed(figures.error, signed=True)} ± {printed(figures.expanded_u)}{NO_BREAK}{units.error_symbol}"
    return (
        ("Conformity", wording.verdict(certificate.final)),
        ("Largest error", f"{error} at {units.with_load_unit(largest.load_g)}"),
        ("Limits", certificate.limits.source if certificate.limits else "none stated"),
    )


def _scale(scale: ScaleFacts, units: PrintUnits) -> Group:
    capacity = [f"Max{NO_BREAK}{units.with_load_unit(scale.max_g)}"]
    capacity += [f"Min{NO_BREAK}{units.with_load_unit(scale.min_g)}"] if scale.min_g is not None else []
    capacity += [f"d{NO_BREAK}={NO_BREAK}{units.with_error_unit(scale.division_g)}"]
    capacity += [f"e{NO_BREAK}={NO_BREAK}{units.with_error_unit(scale.e_g)}"] if scale.e_g is not None else []
    counter = "" if scale.event_counter is None else f"event counter {scale.event_counter}"
    seal = f"seal {scale.seal}" if scale.seal else ""
    return Group(
        "Scale under calibration",
        _stated(
            ("Name", scale.name),
            ("Serial number", scale.serial_number),
            ("Maker, model", joined(scale.maker, scale.model)),
            ("Range", ", ".join(capacity)),
            ("Class", scale.accuracy_class),
            ("Place of use", scale.place),
            ("Condition", scale.condition),
            ("Firmware", scale.firmware),
            ("As it was left", joined(f"coefficients {scale.coefficients_crc or NONE}", counter, seal)),
        ),
    )


def _calibration(certificate: Certificate) -> Group:
    begun, ended = certificate.begun_on, certificate.ended_on
    return Group(
        "Calibration",
        _stated(
            ("Performed on", begun.isoformat() if begun == ended else f"{begun} to {ended}"),
            ("Received on", day(certificate.received_on)),
            ("At", certificate.place),
            ("By", certificate.calibrated_by),
            ("Method", certificate.method.procedure),
            ("After", "; ".join(certificate.method.norms)),
            ("Deviations", "; ".join(certificate.method.deviations) or "none"),
            ("Adjustment", certificate.adjustment or wording.NOT_ADJUSTED),
            ("Replaces", joined(certificate.replaces, certificate.replaced_because)),
        ),
    )


def _stated(*facts: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple((label, value) for label, value in facts if value)
