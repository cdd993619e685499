"""What a certificate must say: ISO/IEC 17025:2017, 7.8.2.1, 7.8.4.1 and 7.8.6.2, item by item, in every form of it.

Items of 7.8.2.1 and 7.8.6.2 after public quotations of the standard; those of 7.8.4.1 from memory.
"""

from dataclasses import replace

import pytest

from scalewright.certificates.document import Certificate
from tests.host.certificates.cases import BALANCE, CASES, KITCHEN, PLATFORM
from tests.host.certificates.forms import FORMS, page, reader, squeezed

CHECKLIST = {
    "7.8.2.1 b, name and address of the laboratory": ["Estuary Bench (invented)", "2 Tide Lane, Saltmarsh"],
    "7.8.2.1 c, location": ["Estuary Bench, room 1"],
    "7.8.2.1 d, unique identification": ["EB-2026-014"],
    "7.8.2.1 e, customer": ["Reed Island Canteen (invented)", "9 Sluice Road, Saltmarsh"],
    "7.8.2.1 f, method": ["errors at loads up and down, repeatability, eccentric loading", "EURAMET cg-18 v4.0"],
    "7.8.2.1 g, item and its condition": ["PLOVER", "PLV-0042", "kitchen scale", "clean, feet level"],
    "7.8.2.1 h, date of receipt": ["2026-02-27"],
    "7.8.2.1 i, date of performance": ["2026-03-02"],
    "7.8.2.1 m, results with units": ["+2.21", "0.26", "-0.06"],
    "7.8.2.1 o, who authorised": ["TS"],
    "7.8.4.1 b, conditions": ["21.3", "21.9", "1012.6", "thermometer T-1"],
    "7.8.4.1 c, traceability": ["SM-25-0311", "EB-M-2"],
    "7.8.4.1 d, before and after adjustment": ["as found", "as left", "curve through 7 loads up and down"],
    "7.8.4.1 e and 7.8.6.2 b, specification": ["OIML R 76-1:2006, table 6, class III, e = 1 g"],
    "7.8.6.2 c, decision rule": ["guard band w = U (ILAC-G8:09/2019, 4.2.2)"],
    "remarks": ["The scale was wiped before it was tested."],
    "the scale as it was left": ["7C31A9E2", "sealed", "scalewright 0.1.0"],
    "the record": [KITCHEN.proof.head, f"scalewright records verify scalewright.sqlite --head {KITCHEN.proof.head}"],
    "the scenario is invented": ["Invented scenario"],
}
IN_WORDS = {  # what the JSON has as fields, the other forms as sentences
    "7.8.2.1 l, relates only to the item": ["The results relate only to the scale named above"],
    "7.8.2.1 n, deviations": ["Deviations", "none"],
    "7.8.4.1 a, uncertainty": ["U is the expanded uncertainty", "95.45 %", "coverage factor k"],
    "7.8.4.1 c, traceable to the SI": ["traceable to the International System of Units"],
    "7.8.6.2 a, to which results": ["as found: outside its limits", "as left: within its limits"],
    "not legal": ["not a verification under legal metrology", "medicine", "claims no accreditation"],
}
TEXTS = {name: squeezed(text(KITCHEN)) for name, text in FORMS.items()}


def missing(form: str, wanted: list[str]) -> list[str]:
    return [words for words in wanted if squeezed(words).lower() not in TEXTS[form].lower()]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("item", CHECKLIST)
def test_every_form_says_what_the_standard_asks_for(form: str, item: str) -> None:
    has_plus = form in ("html", "pdf")  # numbers for programs have no plus
    assert missing(form, [words if has_plus else words.lstrip("+") for words in CHECKLIST[item]]) == []


@pytest.mark.parametrize("form", ["html", "pdf", "xml"])
@pytest.mark.parametrize("item", IN_WORDS)
def test_what_is_read_by_people_says_it_in_words(form: str, item: str) -> None:
    wanted = [words for words in IN_WORDS[item] if form != "xml" or words not in ("Deviations", "none")]
    assert missing(form, wanted) == []


def test_each_page_bears_title_number_and_place_among_all_and_the_last_the_end() -> None:
    pages = [squeezed(page.extract_text()) for page in reader(KITCHEN).pages]
    for number, text in enumerate(pages, start=1):
        assert squeezed("Calibration certificate EB-2026-014") in text
        assert f"page{number}of{len(pages)}" in text
        assert ("endofcertificate" in text) == (number == len(pages))


@pytest.mark.parametrize("name", CASES)
def test_page_and_paper_bear_the_title(name: str) -> None:
    assert ("h1", {}) in page(CASES[name]).tags
    assert reader(CASES[name]).metadata.title == f"Calibration certificate {CASES[name].number}"


def test_masses_without_a_certificate_are_not_called_traceable() -> None:
    text = FORMS["html"](PLATFORM)
    assert "No certificate was on record for 20 kg block weights" in text
    assert "traceable to the International" not in text


def test_a_guard_that_was_set_aside_is_on_the_certificate_with_its_reason() -> None:
    for form in FORMS.values():
        text = squeezed(form(PLATFORM))
        assert squeezed("the set was due on 2026-02-01") in text
        assert squeezed("checked against set M this morning, no change") in text


def test_a_certificate_that_takes_the_place_of_another_names_it_and_says_why() -> None:
    # ISO/IEC 17025:2017, 7.8.8 (from memory): an amended report refers to the original, and says what was changed.
    amended = replace(BALANCE, replaces="EB-2026-009", replaced_because="place of use was wrong")
    for form in FORMS.values():
        assert "EB-2026-009" in form(amended)
    assert "place of use was wrong" in FORMS["html"](amended)


def test_without_limits_there_is_no_statement_of_conformity() -> None:
    points = tuple(replace(point, limit_g=None, outcome="") for point in BALANCE.final.points)
    test = replace(BALANCE.final, points=points, repeatability=())
    bare: Certificate = replace(BALANCE, tests=(test,), limits=None)
    text = FORMS["html"](bare)
    assert "no limits stated" in text
    assert "Decision rule" not in text
    assert "within its limits" not in text
    assert "✓" not in text
