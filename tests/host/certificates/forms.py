"""What tests read out of the forms of a certificate, by general-purpose libraries."""

import io
import re
from collections.abc import Callable
from functools import cache
from html.parser import HTMLParser

from lxml import etree
from pypdf import PdfReader

from scalewright.certificates import dcc, html, pdf, spreadsheet
from scalewright.certificates.document import Certificate


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


@cache
def page(certificate: Certificate) -> _Page:
    """Return texts and tags of the HTML, as a parser sees them."""
    parser = _Page()
    parser.feed(html.render(certificate))
    parser.close()
    return parser


def html_text(certificate: Certificate) -> str:
    return " ".join(page(certificate).texts)


@cache
def pdf_text(certificate: Certificate) -> str:
    return " ".join(page.extract_text() for page in reader(certificate).pages)


@cache
def reader(certificate: Certificate) -> PdfReader:
    return PdfReader(io.BytesIO(pdf.render(certificate)))


def xml_text(certificate: Certificate) -> str:
    return " ".join(etree.fromstring(dcc.render(certificate)).itertext())


def json_text(certificate: Certificate) -> str:
    return spreadsheet.as_json(certificate)


FORMS: dict[str, Callable[[Certificate], str]] = {
    "html": html_text,
    "pdf": pdf_text,
    "xml": xml_text,
    "json": json_text,
}


def squeezed(text: str) -> str:
    """Return the text without blanks, which a page breaks lines at; a minus sign as a hyphen."""
    return re.sub(r"\s", "", text).replace("\N{MINUS SIGN}", "-")
