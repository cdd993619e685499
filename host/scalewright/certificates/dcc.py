"""A certificate for other programs: a Digital Calibration Certificate by the schema of PTB, version 3.3.0, as XML.

Numbers are those of the printed certificate, digit for digit. Unit strings are checked by `si_units`: the schema takes
any text. What refType calls a quantity ("basic_measurementError") is from memory of the names that PTB recommends.
"""

from collections.abc import Iterator
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from scalewright import __version__
from scalewright.certificates import wording
from scalewright.certificates.dcc_results import measurement_result
from scalewright.certificates.document import Certificate, Condition, MassFacts, Party, ScaleFacts
from scalewright.certificates.print_units import PrintUnits
from scalewright.certificates.text import cleaned
from scalewright.certificates.xml_elements import NAMESPACES, element, quantity, real, rich, text

SCHEMA_VERSION = "3.3.0"
_NOWHERE = "ZZ"  # ISO 3166-1 leaves it to users; where no country was stated
_LANGUAGE = "en"


def render(certificate: Certificate) -> bytes:
    """Return the XML document in UTF-8."""
    facts = cleaned(certificate)
    units = PrintUnits.of(facts.scale)
    root = element(
        "digitalCalibrationCertificate",
        _administration(facts, units),
        _results(facts, units),
        schemaVersion=SCHEMA_VERSION,
    )
    for prefix, uri in NAMESPACES.items():
        ElementTree.register_namespace(prefix, uri)
    ElementTree.indent(root)
    document: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return document + b"\n"


def _administration(facts: Certificate, units: PrintUnits) -> Element:
    return element(
        "administrativeData",
        element("dccSoftware", _software("Scalewright", __version__, "application")),
        _core(facts),
        element("items", _item(facts.scale, units)),
        element("calibrationLaboratory", _contact("contact", facts.laboratory)),
        _persons(facts),
        _contact("customer", facts.customer),
        element("statements", *_statements(facts)),
    )


def _core(facts: Certificate) -> Element:
    country = facts.laboratory.country
    return element(
        "coreData",
        element("countryCodeISO3166_1", country if _is_country(country) else _NOWHERE),
        element("usedLangCodeISO639_1", _LANGUAGE),
        element("mandatoryLangCodeISO639_1", _LANGUAGE),
        element("uniqueIdentifier", facts.number),
        element("identifications", _identification("calibrationLaboratory", facts.proof.job, "job in the records")),
        element("receiptDate", facts.received_on.isoformat()) if facts.received_on else None,
        element("beginPerformanceDate", facts.begun_on.isoformat()),
        element("endPerformanceDate", facts.ended_on.isoformat()),
        element("performanceLocation", facts.location),
        element("issueDate", facts.issued_at.date().isoformat()),
        element(
            "reportAmendedSubstituted",
            element("typeOfChange", "substituted"),
            element("replacedUniqueIdentifier", facts.replaces),
        )
        if facts.replaces
        else None,
    )


def _item(scale: ScaleFacts, units: PrintUnits) -> Element:
    amounts = [("Max", scale.max_g), ("Min", scale.min_g), ("d", scale.division_g), ("e", scale.e_g)]
    return element(
        "item",
        text("name", scale.name),
        element("installedSoftwares", _software("firmware", scale.firmware, "firmware")) if scale.firmware else None,
        element("manufacturer", text("name", scale.maker)) if scale.maker else None,
        element("model", scale.model) if scale.model else None,
        element("identifications", _identification("manufacturer", scale.serial_number, "serial number")),
        element(
            "itemQuantities",
            *(
                element("itemQuantity", text("name", name), real(units.load(value), units.load_symbol))
                for name, value in amounts
                if value is not None
            ),
            *(
                element("itemQuantity", text("name", name), rich("noQuantity", value))
                for name, value in _state(scale)
                if value
            ),
        ),
    )


def _state(scale: ScaleFacts) -> list[tuple[str, str]]:
    events = "" if scale.event_counter is None else str(scale.event_counter)
    named = [("accuracy class", scale.accuracy_class), ("CRC-32 of the coefficients", scale.coefficients_crc)]
    return [*named, ("event counter", events), ("seal", scale.seal), ("place of use", scale.place),
            ("condition", scale.condition)]  # fmt: skip


def _persons(facts: Certificate) -> Element:
    people = [("calibrated by", facts.calibrated_by, "false"), ("authorised by", facts.authorised_by, "true")]
    return element("respPersons", *(_person(*person) for person in people))


def _person(role: str, who: str, is_signer: str) -> Element:
    signer = element("mainSigner", is_signer)
    return element("respPerson", element("person", text("name", who)), element("role", role), signer)


def _statements(facts: Certificate) -> list[Element]:
    said = [("uncertainty", wording.uncertainty(facts)), ("traceability", wording.traceability(facts.masses))]
    said += [("decision rule", wording.decision(facts.limits))] if facts.limits else []
    said += [("scope", wording.SCOPE), ("what this is not", wording.NOT_LEGAL)]
    said += [("indications", wording.BEFORE_ROUNDING)]
    said += [("place of performance", facts.place), ("adjustment", facts.adjustment or wording.NOT_ADJUSTED)]
    said += [("guard set aside", f"{o.objection}: {o.reason} ({o.by})") for o in facts.overrides]
    said += [("remark", remark) for remark in facts.remarks]
    said += [("replaces", f"{facts.replaces}: {facts.replaced_because}")] if facts.replaces else []
    said += [("scenario", facts.scenario)] if facts.scenario else []
    said += [("proof", f"{wording.proof(facts)} {facts.proof.head}; {facts.proof.command}")]
    return [element("statement", text("name", name), rich("declaration", words)) for name, words in said]


def _results(facts: Certificate, units: PrintUnits) -> Element:
    method, conditions = facts.method, [_condition(condition) for condition in facts.conditions]
    return element(
        "measurementResults",
        element(
            "usedMethods",
            element(
                "usedMethod",
                text("name", method.procedure),
                rich("description", "Deviations: " + "; ".join(method.deviations)) if method.deviations else None,
                *(element("norm", norm) for norm in method.norms),
            ),
        ),
        element("usedSoftware", _software("Scalewright", __version__, "application")),
        element("measuringEquipments", *map(_equipment, facts.masses)) if facts.masses else None,
        element("influenceConditions", *conditions) if conditions else None,
        *(measurement_result(test, facts.limits, units) for test in facts.tests),
    )


def _equipment(mass: MassFacts) -> Element:
    words = "; ".join(_about(mass))
    found = [("calibrationLaboratory", mass.serial_number, "serial number"), ("other", mass.certificate, "certificate")]
    known = [_identification(issuer, value, name) for issuer, value, name in found if value]
    return element(
        "measuringEquipment",
        text("name", mass.name),
        rich("description", words) if words else None,
        element("identifications", *known) if known else None,
    )


def _about(mass: MassFacts) -> Iterator[str]:
    if mass.weight_class:
        yield f"class {mass.weight_class}"
    if mass.pieces:
        yield f"used: {', '.join(mass.pieces)}"
    if mass.calibrated_by:
        yield f"calibrated by {mass.calibrated_by}"
    if mass.due:
        yield f"valid until {mass.due}"


def _condition(condition: Condition) -> Element:
    in_percent = condition.unit == "%"
    symbol, scale = ("1", -2) if in_percent else (condition.unit, 0)
    ends = [("lowest", condition.low), ("highest", condition.high)]
    u = None if condition.expanded_u is None else condition.expanded_u.scaleb(scale)
    return element(
        "influenceCondition",
        text("name", condition.name),
        rich("description", condition.instrument) if condition.instrument else None,
        element("data", *(quantity(name, real(value.scaleb(scale), symbol, u)) for name, value in ends)),
    )


def _contact(name: str, party: Party) -> Element:
    country = element("countryCode", party.country if _is_country(party.country) else _NOWHERE)
    further = [rich("further", words) for words in (party.address, party.contact) if words]
    return element(name, text("name", party.name), element("location", country, *further))


def _identification(issuer: str, value: str, name: str) -> Element:
    stated = element("value", value or "none stated")
    return element("identification", element("issuer", issuer), stated, text("name", name))


def _software(name: str, release: str, kind: str) -> Element:
    return element("software", text("name", name), element("release", release), element("type", kind))


def _is_country(code: str) -> bool:
    return len(code) == 2 and code.isascii() and code.isalpha() and code.isupper()
