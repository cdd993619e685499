"""The certificate on paper: the same bytes again, PDF/A-3b, what is attached, and what is done about missing glyphs."""

import sys
from dataclasses import replace

import pytest

from scalewright.certificates import dcc, pdf
from scalewright.errors import InputError, ScalewrightError
from tests.host.certificates.cases import BALANCE, CASES, KITCHEN
from tests.host.certificates.forms import reader, squeezed


@pytest.mark.parametrize("name", CASES)
def test_the_same_facts_give_the_same_bytes(name: str) -> None:
    assert pdf.render(CASES[name]) == pdf.render(CASES[name])


def test_it_names_itself_a_pdf_a_3b_of_the_day_of_issue() -> None:
    # ISO 19005-3:2012, 6.6.4: part and conformance level stand in the XMP metadata.
    document = reader(KITCHEN)
    xmp = document.xmp_metadata
    assert xmp is not None
    assert "<pdfaid:part>3</pdfaid:part>" in xmp.rdf_root.toxml()
    assert "<pdfaid:conformance>B</pdfaid:conformance>" in xmp.rdf_root.toxml()
    assert document.metadata.creation_date == KITCHEN.issued_at


def test_the_digital_certificate_is_attached_byte_for_byte() -> None:
    assert reader(KITCHEN).attachments == {"certificate.xml": [dcc.render(KITCHEN)]}


def test_it_holds_no_script_link_or_form() -> None:
    for page in reader(KITCHEN).pages:
        assert "/Annots" not in page
    assert not {"/OpenAction", "/AA", "/AcroForm"} & set(reader(KITCHEN).root_object)


def test_characters_without_a_glyph_are_printed_as_code_points_and_kept_in_the_attachment() -> None:
    named = replace(BALANCE, remarks=('weighed by 秤 "x"', "and ⚖ \U0001f600"))
    document = reader(named)
    text = squeezed(" ".join(page.extract_text() for page in document.pages))
    assert 'weighedby[U+79E4]"x"' in text
    assert "[U+1F600]" in text
    assert "weighed by 秤".encode() in document.attachments["certificate.xml"][0]


def test_a_folder_of_fonts_that_is_not_there_changes_nothing() -> None:
    assert pdf.render(BALANCE, fonts=("nowhere",)) == pdf.render(BALANCE)


def test_without_typst_one_line_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)  # what Python itself does for a module that must not be imported
    with pytest.raises(InputError, match=r"a PDF needs typst \(pip install 'scalewright\[report\]'\)"):
        pdf.render(BALANCE)


def test_a_template_that_fails_is_one_clear_error() -> None:
    with pytest.raises(ScalewrightError, match="could not be typeset"):
        pdf.typeset("label.typ", {"labels": "no list"}, 0)
