"""The Digital Calibration Certificate: valid by PTB's schema 3.3.0, units by our own check, figures as printed.

The schema (LGPL-3.0) is not part of this project: the environment variable DCC_SCHEMA_DIR names a folder that has
dcc.xsd, SI_Format.xsd, qudt.xsd and xmldsig-core-schema.xsd. Nothing is loaded from the network.
"""

import os
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from scalewright.certificates import dcc
from scalewright.certificates.document import Certificate
from scalewright.certificates.sheet import sheet
from scalewright.certificates.si_units import check_unit
from tests.host.certificates.cases import BALANCE, CASES, KITCHEN, PLATFORM

NAMES = {"dcc": "https://ptb.de/dcc", "si": "https://ptb.de/si"}


class FromFolder(etree.Resolver):
    """Gives imported schemas from the one folder, by their file name, and nothing else."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def resolve(self, url: str, _id: str, context: object) -> object:
        return self.resolve_filename(str(self._folder / Path(url).name), context)


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    named = os.environ.get("DCC_SCHEMA_DIR", "")
    if not named or not (Path(named) / "dcc.xsd").is_file():
        pytest.skip("DCC_SCHEMA_DIR names no folder with dcc.xsd: certificates are not checked against the schema")
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(FromFolder(Path(named)))
    return etree.XMLSchema(etree.parse(str(Path(named) / "dcc.xsd"), parser))


def tree(certificate: Certificate) -> etree._Element:
    return etree.fromstring(dcc.render(certificate))


def found(certificate: Certificate, path: str) -> list[str]:
    return [str(node.text) for node in tree(certificate).iterfind(path, NAMES)]


@pytest.mark.parametrize("name", CASES)
def test_it_is_valid_by_the_schema(schema: etree.XMLSchema, name: str) -> None:
    schema.assertValid(tree(CASES[name]))


def test_with_as_little_as_there_can_be_it_is_valid_too(schema: etree.XMLSchema) -> None:
    points = tuple(replace(point, limit_g=None, outcome="", direction="") for point in BALANCE.final.points)
    bare = replace(
        BALANCE, tests=(replace(BALANCE.final, points=points, repeatability=()),), limits=None, masses=(),
        conditions=(), overrides=(), remarks=(), replaces="EB-1",
        scale=replace(BALANCE.scale, serial_number="", model="", firmware="", accuracy_class="", event_counter=None),
        laboratory=replace(BALANCE.laboratory, country="", address="", contact=""),
    )  # fmt: skip
    schema.assertValid(tree(bare))


@settings(max_examples=12)
@given(text=st.text(st.characters(), min_size=1, max_size=30))
def test_with_any_text_it_is_valid(schema: etree.XMLSchema, text: str) -> None:
    laboratory = replace(KITCHEN.laboratory, name=text, address=text, country=text[:2])
    scale = replace(KITCHEN.scale, name=text, serial_number=text, model=text, condition=text, maker=text)
    odd = replace(KITCHEN, laboratory=laboratory, scale=scale, remarks=(text,), number="N" + text)
    schema.assertValid(tree(odd))


@pytest.mark.parametrize("name", CASES)
def test_every_unit_is_one_of_the_digital_system_of_units(name: str) -> None:
    units = found(CASES[name], ".//si:unit") + found(CASES[name], ".//si:unitXMLList")
    assert len(units) > 8
    assert [check_unit(unit) for unit in units] == units


@pytest.mark.parametrize("name", CASES)
def test_its_figures_are_the_printed_ones_digit_for_digit(name: str) -> None:
    certificate = CASES[name]
    rows = [row for table in sheet(certificate).results for row in table.rows]
    lists = ".//dcc:list/dcc:quantity[@refType='{}']//si:{}"
    for column, path in [
        (0, lists.format("basic_nominalValue", "valueXMLList")),
        (2, lists.format("basic_measuredValue", "valueXMLList")),
        (3, lists.format("basic_measurementError", "valueXMLList")),
        (4, lists.format("basic_measurementError", "valueExpandedMUXMLList")),
        (5, lists.format("basic_measurementError", "coverageFactorXMLList")),
    ]:
        written = " ".join(found(certificate, path)).split()
        assert written == [row[column].replace("\N{MINUS SIGN}", "-").replace("+", "") for row in rows]


def test_relative_humidity_is_a_fraction_and_the_kilogram_has_no_prefix() -> None:
    conditions = tree(KITCHEN).findall(".//dcc:influenceCondition", NAMES)
    humidity = conditions[1].findall(".//si:real", NAMES)
    assert [real.findtext("si:value", None, NAMES) for real in humidity] == ["0.44", "0.46"]
    assert humidity[0].findtext(".//si:valueExpandedMU", None, NAMES) == "0.03"
    assert humidity[0].findtext("si:unit", None, NAMES) == "\\one"
    assert r"\kilogram" in found(PLATFORM, ".//si:unitXMLList")
    assert max(map(Decimal, " ".join(found(PLATFORM, ".//dcc:itemQuantity//si:value")).split())) == 150


def test_each_error_has_its_answer_of_conformity() -> None:
    answers = found(KITCHEN, ".//dcc:conformityXMLList")
    outcomes = [[point.outcome for point in test.points] for test in KITCHEN.tests]
    words = {"accept": "pass", "reject": "fail"}
    assert answers == [" ".join(words[outcome] for outcome in found) for found in outcomes]


def test_the_same_facts_give_the_same_bytes() -> None:
    assert dcc.render(KITCHEN) == dcc.render(KITCHEN)
