"""Weighing from the command line, on a virtual scale that was calibrated first."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import run


@pytest.fixture
def url(tmp_path: Path) -> str:
    url = f"virtual://plover?speed=0&rate=80&storage={tmp_path / 'flash'}"
    calibrate = ["calibrate", "--port", url, "--max", "3000", "--division", "1", "--steps", "2", "--degree", "2"]
    assert run([*calibrate, "--records", str(tmp_path / "records.sqlite")]) == 0
    return url


def weigh(capsys: pytest.CaptureFixture[str], url: str, *options: str) -> dict[str, object]:
    capsys.readouterr()
    assert run(["weigh", "--port", url, *options, "--json"]) == 0
    result: dict[str, object] = json.loads(capsys.readouterr().out)
    return result


def test_a_load_is_shown_in_the_unit_asked_for_and_counted(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert weigh(capsys, url, "--load", "1234") == {"indication_g": 1234, "shown": "1234", "unit": "g"}
    # 1 lb = 453.59237 g (1959 agreement); d = 1 g is 0.0022 lb, so shown to 0.005 lb: 1234 g = 2.72051 lb.
    assert weigh(capsys, url, "--load", "1234", "--unit", "lb")["shown"] == "2.720"
    assert weigh(capsys, url, "--load", "1234", "--tare")["shown"] == "0"
    assert run(["weigh", "--port", url, "--load", "356", "--piece", "3.56", "--worth", "0.05"]) == 0
    assert capsys.readouterr().out == "100 pieces, +0 g left over, worth 5.00\n"


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--unit", "stone throw"], "unit 'stone throw' is not known"),
        (["--worth", "1"], "--worth is of pieces"),
        (["--piece", "0"], "--piece '0'"),
    ],
)
def test_what_cannot_be_shown_is_said_in_a_line(
    options: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["weigh", "--port", "virtual://x", *options]) == 2
    assert says in capsys.readouterr().err
    assert run(["weigh", "--port", "/dev/there-is-none", "--load", "5"]) == 2
    assert "--load is for a virtual scale" in capsys.readouterr().err
