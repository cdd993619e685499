"""Labels: what ties a scale to its certificate, on a sheet, in any number."""

import io
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader

from scalewright.certificates.label import MOST, label_of, render
from scalewright.errors import InputError
from tests.host.certificates.cases import CASES, KITCHEN
from tests.host.certificates.forms import squeezed

LABELS = [label_of(certificate, date(2027, 3, 2)) for certificate in CASES.values()]


def texts(pdf: bytes) -> list[str]:
    return [squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


def test_a_label_has_what_ties_the_scale_to_its_certificate() -> None:
    text = texts(render(LABELS, 0))[0]
    for certificate in CASES.values():
        scale = certificate.scale
        for words in (scale.name, scale.serial_number, certificate.number, scale.coefficients_crc, "2026-03-02"):
            assert squeezed(words) in text
    assert KITCHEN.proof.head[:12] in text
    assert KITCHEN.proof.head[:13] not in text
    assert text.count("2027-03-02") == len(LABELS)
    assert "outsideitslimits" in text  # a label hides no failure


def test_without_an_agreed_due_date_a_label_says_nothing_of_one() -> None:
    # ISO/IEC 17025:2017, 7.8.4.3 (from memory): no recommendation of an interval unless agreed with the customer.
    assert "due" not in texts(render([label_of(KITCHEN)], 0))[0]


@pytest.mark.parametrize(("number", "first", "sheets"), [(1, 1, 1), (24, 1, 1), (25, 1, 2), (1, 24, 1), (2, 24, 2)])
def test_a_sheet_has_24_places_and_may_be_begun_anywhere(number: int, first: int, sheets: int) -> None:
    assert len(texts(render(LABELS[:1] * number, 0, first))) == sheets


@pytest.mark.parametrize(("number", "first"), [(0, 1), (MOST + 1, 1), (1, 0), (1, 25)])
def test_what_no_sheet_has_is_refused(number: int, first: int) -> None:
    with pytest.raises(InputError, match="expected 1 to 200, from place 1 to 24"):
        render(LABELS[:1] * number, 0, first)


def test_a_long_name_is_made_to_fit_and_markup_stays_text() -> None:
    name = '#read("x") *bold* with a very long name behind it'
    assert squeezed(name) in texts(render([label_of(replace(KITCHEN, scale=replace(KITCHEN.scale, name=name)))], 0))[0]


def test_the_same_labels_give_the_same_bytes() -> None:
    assert render(LABELS, 0) == render(LABELS, 0)
