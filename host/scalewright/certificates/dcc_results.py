"""The results of one test as an element of a Digital Calibration Certificate."""

from decimal import Decimal
from xml.etree.ElementTree import Element

from scalewright.certificates import wording
from scalewright.certificates.document import Eccentricity, Finding, Limits, Series, Test
from scalewright.certificates.figures import Figures, decimal
from scalewright.certificates.print_units import PrintUnits
from scalewright.certificates.rounding import rounded_u
from scalewright.certificates.xml_elements import element, quantity, real, real_list, rich, text


def measurement_result(test: Test, limits: Limits | None, units: PrintUnits) -> Element:
    """Return everything that was found in one state of the scale."""
    eccentric = [_eccentricity(test.eccentricity, units)] if test.eccentricity else []
    series = [_repeatability(series, units) for series in test.repeatability]
    findings = [_finding(finding) for finding in test.findings]
    return element(
        "measurementResult",
        text("name", f"{test.state}: {wording.verdict(test)}"),
        element("results", _errors(test, limits, units), *series, *eccentric, *findings),
    )


def _errors(test: Test, limits: Limits | None, units: PrintUnits) -> Element:
    rows = [Figures.of(point, units) for point in test.points]
    load, error = units.load_symbol, units.error_symbol
    errors = real_list([row.error for row in rows], error, [(row.expanded_u, row.k) for row in rows])
    limit = [row.limit for row in rows if row.limit is not None]
    found = quantity("error of indication", errors, "basic_measurementError")
    if limits is not None and len(limit) == len(rows):
        found.append(_conformity(test, limits))
    quantities = [
        quantity("load", real_list([row.load for row in rows], load), "basic_nominalValue"),
        quantity("indication", real_list([row.indication for row in rows], load), "basic_measuredValue"),
        found,
    ]
    if len(limit) == len(rows):
        quantities.append(quantity("maximum permissible error", real_list(limit, error)))
    if all(point.direction for point in test.points):
        directions = element("charsXMLList", " ".join(point.direction for point in test.points))
        quantities.append(quantity("direction of loading", directions))
    return element("result", text("name", "errors of indication"), element("data", element("list", *quantities)))


def _conformity(test: Test, limits: Limits) -> Element:
    answers = " ".join(wording.CONFORMITY[point.outcome] for point in test.points)
    return element(
        "measurementMetaData",
        element(
            "metaData",
            text("name", "conformity"),
            element("norm", limits.source),
            rich("declaration", wording.decision(limits)),
            element("conformityXMLList", answers),
        ),
    )


def _repeatability(series: Series, units: PrintUnits) -> Element:
    s = rounded_u(units.error(series.s_g)) if series.s_g else Decimal(0)
    shown = [decimal(units.error(value)) for value in series.indications_g]
    return element(
        "result",
        text("name", "repeatability"),
        element(
            "data",
            quantity("load", real(units.load(series.load_g), units.load_symbol), "basic_nominalValue"),
            quantity("indications", real_list(shown, units.error_symbol), "basic_measuredValue"),
            quantity("standard deviation of one indication", real(s, units.error_symbol)),
        ),
    )


def _eccentricity(ecc: Eccentricity, units: PrintUnits) -> Element:
    errors = [units.fine_error(ecc.error_g(position)) for position in ecc.positions]
    places = "; ".join(position.name for position in ecc.positions)
    return element(
        "result",
        text("name", "eccentric loading"),
        rich("description", f"in this order: {places}"),
        element(
            "data",
            quantity("load", real(units.load(ecc.load_g), units.load_symbol), "basic_nominalValue"),
            quantity("error of indication", real_list(errors, units.error_symbol), "basic_measurementError"),
        ),
    )


def _finding(finding: Finding) -> Element:
    within = "within" if finding.passes else "outside"
    words = f"{float(finding.value):.3g} {finding.unit}, limit {float(finding.limit):.3g} {finding.unit}: {within}"
    return element("result", text("name", finding.what), element("data", rich("text", f"{words} ({finding.source})")))
