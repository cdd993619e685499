"""Text from people: what XML 1.0, production 2, has no character for, told by lxml; what turns reading round."""

import unicodedata

from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from scalewright.certificates.document import Certificate
from scalewright.certificates.text import clean, cleaned
from tests.host.certificates.cases import KITCHEN

ANY_TEXT = st.text(st.characters(), max_size=40)  # lone surrogates too
ORDINARY = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=40)


@given(ANY_TEXT)
def test_whatever_was_written_becomes_text_that_xml_can_hold(text: str) -> None:
    element = etree.Element("content")
    element.text = clean(text)  # lxml raises ValueError for what XML has no character for
    assert etree.fromstring(etree.tostring(element)).text in (clean(text), None)


@given(ANY_TEXT)
def test_nothing_is_left_that_controls_or_turns_the_order_round(text: str) -> None:
    left = clean(text)
    assert not {"Cc", "Cs"} & {unicodedata.category(character) for character in left}
    turning = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}  # Unicode Standard Annex 9, table 4
    assert not turning & {unicodedata.bidirectional(character) for character in left}
    assert clean(left) == left


@given(ORDINARY)
def test_ordinary_text_stays_letter_for_letter(text: str) -> None:
    allowed = not {"\ufffe", "\uffff"} & set(text)
    assert not allowed or clean(text) == text


def test_lines_become_one_and_blanks_at_the_ends_go() -> None:
    assert clean(" worn\r\n\tedge \u2028 left ") == "worn edge left"


def test_every_text_of_a_certificate_is_cleaned_however_deep() -> None:
    dirty = KITCHEN.masses[0].__class__("a\x00b", pieces=("\u202e200",))
    facts: Certificate = cleaned(KITCHEN.__class__(**{**vars(KITCHEN), "masses": (dirty,)}))
    assert facts.masses[0].name == "a\ufffdb"
    assert facts.masses[0].pieces == ("\ufffd200",)
    assert facts.tests == KITCHEN.tests
