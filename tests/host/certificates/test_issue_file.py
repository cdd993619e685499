"""The file with what is said at an issue: read whole, and every mistake named by line and key."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from scalewright.certificates import issue_file
from scalewright.certificates.document import Condition, Party
from scalewright.certificates.issue_file import read_issue
from scalewright.errors import InputError
from scalewright.examples import example_path

WHOLE = """
[certificate]
authorised_by = "TS"
place = "Bench 2"
location = "customer"
number = "EB-7"
rule = "guarded"
received_on = "2026-02-27"
deviations = ["no load below Min"]
remarks = ["a", "b"]
scenario = "invented"
[laboratory]
name = "Estuary Bench"
address = "2 Tide Lane"
contact = "bench@example.org"
country = "ZZ"
[customer]
name = "Reed Island Canteen"
[scale]
name = "PLOVER"
place = "hatch"
condition = "clean"
[[conditions]]
name = "air temperature"
low = 21.3
high = 22
unit = "°C"
instrument = "T-1"
[[conditions]]
name = "relative humidity"
low = 44
high = 44
unit = "%"
"""


def read(tmp_path: Path, text: str) -> issue_file.Issue:
    path = tmp_path / "details.toml"
    path.write_text(text, encoding="utf-8")
    return read_issue(path)


def test_everything_in_the_file_is_said(tmp_path: Path) -> None:
    issue = read(tmp_path, WHOLE)
    assert issue.laboratory == Party("Estuary Bench", "2 Tide Lane", "bench@example.org", "ZZ")
    assert issue.customer == Party("Reed Island Canteen")
    assert (issue.number, issue.location, issue.rule) == ("EB-7", "customer", "guarded")
    assert (issue.received_on, issue.deviations) == (date(2026, 2, 27), ("no load below Min",))
    assert issue.remarks == ("a", "b")
    assert (issue.scale_name, issue.scale_place, issue.condition) == ("PLOVER", "hatch", "clean")
    assert issue.conditions == (
        Condition("air temperature", Decimal("21.3"), Decimal(22), "°C", instrument="T-1"),
        Condition("relative humidity", Decimal(44), Decimal(44), "%"),
    )


def test_the_layout_in_the_documentation_and_the_example_can_be_read(tmp_path: Path) -> None:
    assert issue_file.__doc__ is not None
    layout = issue_file.__doc__.split("\n\n", 1)[1]
    assert read(tmp_path, layout).rule == "guarded"
    assert "invented" in read_issue(example_path("certificate.toml")).scenario.lower()


@pytest.mark.parametrize(
    ("before", "after", "problem"),
    [
        ('authorised_by = "TS"\n', "", "line 2, column certificate.authorised_by: missing"),
        ('authorised_by = "TS"', 'authorised_by = "Some Body"', "initials 'Some Body'"),
        ('rule = "guarded"', 'rule = "kind"', "decision rule 'kind'; expected one of simple, guarded, conditional"),
        ('"2026-02-27"', '"27 February"', "line 8, column certificate.received_on: '27 February' found"),
        ("low = 21.3", "low = 23", "low: 23 found, above high = 22"),
        ('unit = "%"', 'unit = "percent"', "conditions.unit: 'percent' found; expected one of kg"),
        ("[customer]", "[costumer]", "customer: missing"),
        ("number =", "nummer =", "certificate.nummer: not known here"),
        ("low = 44", 'low = "cold"', "expected a finite number"),
    ],
)
def test_every_mistake_is_named(tmp_path: Path, before: str, after: str, problem: str) -> None:
    assert before in WHOLE
    with pytest.raises(InputError, match=r"details\.toml") as caught:
        read(tmp_path, WHOLE.replace(before, after))
    assert problem in str(caught.value)
