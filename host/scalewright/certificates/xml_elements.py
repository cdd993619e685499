"""Elements of a Digital Calibration Certificate, the few shapes that all of it is made of."""

from collections.abc import Sequence
from decimal import Decimal
from xml.etree.ElementTree import Element

from scalewright.analysis.budget import PROBABILITY
from scalewright.certificates.si_units import OF_SYMBOL, check_unit

NAMESPACES = {"dcc": "https://ptb.de/dcc", "si": "https://ptb.de/si"}


def element(name: str, *content: Element | str | None, **attributes: str) -> Element:
    """Return an element; its name is of dcc unless it begins with another prefix. None is left out."""
    prefix, _, local = name.rpartition(":")
    made = Element(f"{{{NAMESPACES[prefix or 'dcc']}}}{local}", attributes)
    for part in content:
        if isinstance(part, str):
            made.text = part
        elif part is not None:
            made.append(part)
    return made


def text(name: str, words: str) -> Element:
    """Return a text that may be given in several languages."""
    return element(name, element("content", words, lang="en"))


def rich(name: str, words: str) -> Element:
    """Return a text that may hold files and formulas too. It looks the same."""
    return text(name, words)


def quantity(name: str, value: Element, kind: str = "") -> Element:
    """Return a named quantity; kind: its refType."""
    return element("quantity", text("name", name), value, **({"refType": kind} if kind else {}))


def real(value: Decimal, symbol: str, expanded_u: Decimal | None = None) -> Element:
    """Return one value with its unit, and its expanded uncertainty for k = 2."""
    stated = None if expanded_u is None else element("si:measurementUncertaintyUnivariate", _expanded(expanded_u))
    return element("si:real", element("si:value", f"{value:f}"), element("si:unit", _unit(symbol)), stated)


def real_list(
    values: Sequence[Decimal], symbol: str, uncertainties: Sequence[tuple[Decimal, Decimal]] = ()
) -> Element:
    """Return values of one unit; uncertainties: for each, if any, its expanded uncertainty and coverage factor."""
    stated = element("si:measurementUncertaintyUnivariateXMLList", _expanded_list(uncertainties))
    return element(
        "si:realListXMLList",
        element("si:valueXMLList", _list(values)),
        element("si:unitXMLList", _unit(symbol)),
        stated if uncertainties else None,
    )


def _expanded(expanded_u: Decimal) -> Element:
    return element(
        "si:expandedMU",
        element("si:valueExpandedMU", f"{expanded_u:f}"),
        element("si:coverageFactor", "2"),
        element("si:coverageProbability", f"{PROBABILITY:.4f}"),
    )


def _expanded_list(uncertainties: Sequence[tuple[Decimal, Decimal]]) -> Element:
    return element(
        "si:expandedMUXMLList",
        element("si:valueExpandedMUXMLList", _list([u for u, _ in uncertainties])),
        element("si:coverageFactorXMLList", _list([k for _, k in uncertainties])),
        element("si:coverageProbabilityXMLList", f"{PROBABILITY:.4f}"),
    )


def _list(values: Sequence[Decimal]) -> str:
    return " ".join(f"{value:f}" for value in values)


def _unit(symbol: str) -> str:
    return check_unit(OF_SYMBOL[symbol])
