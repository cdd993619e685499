"""`scalewright substitution`: what it prints, and the rows it refuses."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import BAD_INPUT, PASSED, run

STEPS = "with_mass_g,with_ballast_g,u_indication_g\n20001.0,20014.0,0.6\n40016.5,40009.5,0.7\n"  # invented
MASS = ["--mass", "20000.3", "--u-mass", "0.05"]


@pytest.fixture
def steps(tmp_path: Path) -> Path:
    file = tmp_path / "steps.csv"
    file.write_text(STEPS)
    return file


def test_the_test_loads_grow_by_the_mass_and_the_differences(steps: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """EURAMET cg-18, version 4.0, 7.1.2.6 (from memory)."""
    assert run(["substitution", str(steps), *MASS, "--json"]) == PASSED
    results = json.loads(capsys.readouterr().out)
    assert [row["load_g"] for row in results["test_loads"]] == [20000.3, 40013.6, 60006.9]
    u3 = (9 * 0.05**2 + 2 * (0.6**2 + 0.7**2)) ** 0.5
    assert results["test_loads"][2]["u_load_g"] == pytest.approx(u3)
    assert results["covariance_g2"][0][2] == pytest.approx(3 * 0.05**2)
    assert run(["substitution", str(steps), *MASS]) == PASSED
    assert "60006.9" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("row", "options", "says"),
    [
        ("60000,60010,-1", MASS, "line 4, column u_indication_g: -1 found"),
        ("60000,heavy,1", MASS, "line 4, column with_ballast_g: 'heavy' found"),
        ("60000,61000,1", MASS, "substitution 3: ballast differs by 1000 g"),
        ("60000,60001,1", ["--mass", "0", "--u-mass", "0"], "--mass 0; expected a mass"),
        ("60000,60001,1", ["--mass", "20000", "--u-mass", "-1"], "--u-mass '-1'; expected a number from 0"),
    ],
)
def test_what_can_not_be_used_is_one_line(
    steps: Path, row: str, options: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    steps.write_text(STEPS + row + "\n")
    assert run(["substitution", str(steps), *options]) == BAD_INPUT
    printed = capsys.readouterr()
    assert (printed.out, printed.err.count("\n")) == ("", 1)
    assert says in printed.err
