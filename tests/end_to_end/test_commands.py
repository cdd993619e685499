"""The commands as a shell sees them: what they print, what they exit with, what they leave behind."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from scalewright.command_line.main import COMMANDS, run


def test_the_demo_calibrates_checks_verifies_and_agrees_with_certified_values(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["demo", "--records", str(tmp_path / "demo.sqlite")]) == 0
    printed = capsys.readouterr()
    assert printed.out.count(" pass\n") == 21
    assert "read back and compared: the same" in printed.out
    assert "holds" in printed.out
    assert printed.out.count("15.0") >= 8  # every certified figure of NIST StRD Pontius, to its 15 digits
    assert printed.err.count(" of 42 ") == 42  # progress


def test_a_scale_out_of_tolerance_fails_the_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    url = f"virtual://worn?speed=0&rate=80&storage={tmp_path / 'flash'}"
    records = ["--records", str(tmp_path / "r.sqlite")]
    assert run(["calibrate", "--port", url, "--max", "3000", "--division", "1", *records]) == 0
    worn = f"{url}&cell_rated_output_mv_per_v=2.01"  # 0.5 % more sensitive than when it was calibrated
    assert run(["check", "--port", worn, *records]) == 1
    assert "FAIL" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["calibrate", "--port", "virtual://x", "--max", "heavy", "--division", "1"], 2, "--max 'heavy'; expected"),
        (["calibrate", "--port", "virtual://x", "--max", "3", "--division", "3"], 2, "1, 2 or 5 times a power of ten"),
        (["calibrate", "--port", "virtual://x", "--max", "3000", "--division", "0.1"], 2, "class III ends at 10000 e"),
        (["check", "--port", "/dev/there-is-none"], 3, "ports seen: "),
        (["check", "--port", "virtual://x?flavour=2"], 3, "option flavour is not known"),
        (["check", "--port", "virtual://x?speed=0"], 3, "no coefficients stored"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    words: list[str],
    code: int,
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(words) == code
    printed = capsys.readouterr()
    assert says in printed.err
    assert printed.err.count("\n") == 1
    assert printed.out == ""


def test_ports_offers_the_virtual_scale(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["ports", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["ports"][-1]["url"] == "virtual://bench"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        run([command, "--help"])
    assert ended.value.code == 0
    assert COMMANDS[command][1][1:] in capsys.readouterr().out.replace("\n", " ")


def test_a_person_is_asked_for_each_load() -> None:
    """The same command with a person in place of the virtual hand: here one who never finds the mass."""
    code = """
import sys
from decimal import Decimal
from scalewright.command_line.person import PersonAtTerminal
from scalewright.procedures.requests import PlaceLoad
PersonAtTerminal().act(PlaceLoad(Decimal(300)))
PersonAtTerminal().act(PlaceLoad(Decimal(0)))
"""
    done = subprocess.run([sys.executable, "-c", code], input="\n\n", capture_output=True, text=True, check=True)
    assert done.stderr == "Please put 300 g on the scale, then press Enter. Please clear the pan, then press Enter. "
