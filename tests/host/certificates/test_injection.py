"""Text from people stays text, in every form: what they wrote is there to read, and nothing of it acts.

Nasty texts: markup of HTML (OWASP, Cross Site Scripting Prevention), of XML 1.0 (2.7, CDATA; 4.1, entities), of typst
(documentation, Syntax), and of SVG; formulas are in test_spreadsheet.
"""

import json
import shlex
import subprocess
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from scalewright.certificates import dcc, html
from scalewright.certificates.document import Certificate, Override
from scalewright.certificates.error_plot import draw
from scalewright.certificates.text import clean
from tests.host.certificates.cases import KITCHEN
from tests.host.certificates.forms import json_text, page, pdf_text, reader, squeezed

NASTY = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style></svg><b>",
    "&lt;b&gt; &amp;amp; &#60;",
    "]]> <![CDATA[ <!-- --> <?xml?> <!DOCTYPE x [<!ENTITY a 'b'>]> &a;",
    "{{ 7 * 7 }} {% raw %} {# no #}",
    '#read("/etc/passwd") #eval("1+1") #import "x"',
    "$x^2$ *bold* _it_ `raw` = head - item + item / term: <label> @ref ~ \\ // comment /* x */ -- --- ...",
    '"quoted" \'single\' \\u{41} \\n',
    "javascript:alert(1) data:text/html,x",
]
TEXTS = st.sampled_from(NASTY) | st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40)


def with_text(text: str) -> Certificate:
    """Return a certificate that has the text wherever people may write."""
    party = replace(KITCHEN.customer, name=text, address=text, contact=text)
    scale = replace(KITCHEN.scale, name=text, serial_number=text, model=text, place=text, condition=text, seal=text)
    masses = (replace(KITCHEN.masses[0], name=text, certificate=text, calibrated_by=text, pieces=(text,)),)
    return replace(
        KITCHEN, customer=party, laboratory=party, scale=scale, masses=masses, remarks=(text,), place=text,
        overrides=(Override(text, text, "KM"),), calibrated_by=text, authorised_by=text, adjustment=text, scenario=text,
        method=replace(KITCHEN.method, deviations=(text,)),
    )  # fmt: skip


@given(TEXTS)
@settings(max_examples=20)
def test_html_shows_the_text_and_has_no_tag_more(text: str) -> None:
    odd, plain = page(with_text(text)), page(with_text("plain"))
    assert [tag for tag in odd.tags if tag[0] != "p"] == [tag for tag in plain.tags if tag[0] != "p"]
    assert not clean(text) or clean(text) in " ".join(odd.texts)


@given(TEXTS)
@settings(max_examples=15)
def test_xml_has_the_text_verbatim_and_no_element_more(text: str) -> None:
    odd, plain = (etree.fromstring(dcc.render(with_text(words))) for words in (text, "plain"))
    if clean(text):
        assert [node.tag for node in odd.iter()] == [node.tag for node in plain.iter()]
        assert clean(text) in [node.text for node in odd.iter()]
    assert odd.getroottree().docinfo.internalDTD is None


def test_paper_shows_markup_as_text_letter_for_letter() -> None:
    printed = squeezed(pdf_text(replace(KITCHEN, remarks=tuple(NASTY))))
    assert [text for text in NASTY if squeezed(clean(text)) not in printed] == []


@given(TEXTS)
@settings(max_examples=6)
def test_any_text_can_be_typeset_and_is_attached_verbatim(text: str) -> None:
    attached = reader(with_text(text)).attachments["certificate.xml"][0]
    assert not clean(text) or clean(text) in [node.text for node in etree.fromstring(attached).iter()]


@pytest.mark.parametrize("name", ["a; touch b", "$(touch b)", "`touch b`", "it's", "-rf", "a b", "a\nb", "--head"])
def test_the_command_that_proves_a_certificate_runs_nothing_else(name: str) -> None:
    command = replace(KITCHEN.proof, records=name).command
    words = shlex.split(command)
    assert words == ["scalewright", "records", "verify", words[3], "--head", KITCHEN.proof.head]
    assert words[3].removeprefix("./") == name
    assert not words[3].startswith("-")
    assert subprocess.run(["sh", "-c", f'scalewright() {{ printf %s "$3"; }}; {command}'], capture_output=True,
                          check=True, text=True).stdout == words[3]  # fmt: skip


@pytest.mark.parametrize("text", NASTY)
def test_json_has_the_text_verbatim(text: str) -> None:
    assert json.loads(json_text(with_text(text)))["remarks"] == [clean(text)]


@pytest.mark.parametrize("text", NASTY)
def test_the_plot_has_no_text_of_people(text: str) -> None:
    assert draw(with_text(text)) == draw(KITCHEN)
    assert "\x00" not in html.render(with_text("\x00" + text))
