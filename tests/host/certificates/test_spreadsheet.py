"""CSV and JSON: read back by Python's csv and json modules and by openpyxl, which decides as a spreadsheet does."""

import csv
import io
import json
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from scalewright.certificates.document import Certificate, RawReading
from scalewright.certificates.sheet import sheet
from scalewright.certificates.spreadsheet import HEADER, as_json, harmless, raw_csv, results_csv
from tests.host.certificates.cases import CASES, KITCHEN

# OWASP, CSV Injection: the characters a cell must not begin with, and attacks it quotes in substance.
ATTACKS = ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("x")', "-cmd|' /C x'!A0"]
ATTACKS += ["\uff1d1+1", "\uff0d1+1"]  # full-width forms
FIGURES = [("load_g", 0, "Load"), ("indication_g", 2, "Indication"), ("error_g", 3, "Error"), ("expanded_u_g", 4, "U")]
NUMBERS = ["-1", "+1", "-0.5", "1e5", "-1E-7", "+.5", "0", "12."]


def rows(certificate: Certificate) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(results_csv(certificate), newline="")))


@pytest.mark.parametrize("cell", ATTACKS)
def test_what_would_run_is_made_harmless(cell: str) -> None:
    assert harmless(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", NUMBERS)
def test_a_number_stays_a_number(cell: str) -> None:
    assert harmless(cell) == cell
    assert float(harmless(cell)) == float(cell)


@given(st.sampled_from([*ATTACKS, *NUMBERS]) | st.text(st.sampled_from("=+-@'\t\r1.eA(),\"\n"), max_size=8))
def test_no_spreadsheet_takes_a_cell_for_a_formula(cell: str) -> None:
    book = Workbook()
    book.active.append([harmless(cell)])
    assert book.active["A1"].data_type != "f"
    assert harmless(cell)[:1] not in ("=", "@", "\t", "\r")
    assert harmless(cell) in (cell, f"'{cell}")


@settings(max_examples=25)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20))
def test_a_certificate_with_any_number_is_read_back_cell_for_cell(number: str) -> None:
    found = rows(replace(KITCHEN, number=number))
    assert len(found) == sum(len(test.points) for test in KITCHEN.tests)
    assert len({row["certificate"] for row in found}) == 1
    assert tuple(found[0]) == HEADER


@pytest.mark.parametrize("name", CASES)
def test_figures_are_the_printed_ones_in_grams(name: str) -> None:
    grams = {"kg": 1000, "g": 1, "mg": Decimal("0.001")}
    table = sheet(CASES[name]).results
    units = {heading.split("\xa0")[0]: heading.split("\xa0")[-1] for heading in table[0].headings}
    printed = [row for test in table for row in test.rows]
    for row, cells in zip(rows(CASES[name]), printed, strict=True):
        for field, column, heading in FIGURES:
            assert Decimal(row[field]) == Decimal(cells[column].replace("\N{MINUS SIGN}", "-")) * grams[units[heading]]


@pytest.mark.parametrize("name", CASES)
def test_json_holds_every_fact_and_the_reported_figures(name: str) -> None:
    certificate = CASES[name]
    value = json.loads(as_json(certificate), parse_constant=lambda constant: pytest.fail(f"{constant} is not JSON"))
    assert value["number"] == certificate.number
    assert value["proof"]["head"] == certificate.proof.head
    assert value["verification_command"].endswith(certificate.proof.head)
    points = [point for test in value["tests"] for point in test["points"]]
    exact = [point for test in certificate.tests for point in test.points]
    assert [point["indication_g"] for point in points] == [float(point.indication_g) for point in exact]
    assert value["reported"] == rows(certificate)


def test_a_number_of_a_certificate_that_is_a_formula_is_written_as_text() -> None:
    assert {row["certificate"] for row in rows(replace(KITCHEN, number="=1+1"))} == {"'=1+1"}


def test_raw_readings_that_would_run_are_written_as_text() -> None:
    reading = RawReading(
        Decimal(500), ("@SUM(A1)", "500"), Decimal(0), Decimal(0), "=middle", 8, 8, 0, 1, Decimal("-0.5")
    )
    (row,) = csv.DictReader(io.StringIO(raw_csv(replace(KITCHEN, raw=(reading,))), newline=""))
    assert (row["pieces"], row["at"], row["temperature_c"]) == ("'@SUM(A1) + 500", "'=middle", "-0.5")


def test_infinite_degrees_of_freedom_are_null() -> None:
    point = replace(KITCHEN.final.points[0], degrees_of_freedom=float("inf"))
    certain = replace(KITCHEN, tests=(replace(KITCHEN.final, points=(point,)),))
    assert json.loads(as_json(certain))["tests"][0]["points"][0]["degrees_of_freedom"] is None
    assert rows(certain)[0]["degrees_of_freedom"] == ""
