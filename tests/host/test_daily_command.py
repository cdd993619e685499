"""`scalewright daily` and a two-point adjustment: what a person types, what comes out."""

import io
import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from scalewright.command_line.person import PersonAtTerminal
from scalewright.equipment import Certificate, MassSet, Piece
from scalewright.link.scale import Scale
from scalewright.procedures.daily_check import DailyCheck
from scalewright.procedures.perform import perform
from scalewright.procedures.requests import Answer, Request, Setting
from scalewright.procedures.run import Run
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.records.journal import Journal
from scalewright.records.registers import add
from tests.host.procedures.virtual_bench import HELD, URL, coefficients, loads


@pytest.fixture
def url(tmp_path: Path) -> str:
    """Return a virtual scale that is calibrated."""
    url = f"{URL}&storage={tmp_path / 'flash'}"
    with Scale.open(url) as scale:
        scale.store_coefficients(coefficients())
    return url


def test_two_masses_that_are_right_pass(url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["daily", "--port", url, "--loads", "500,2000", "--records", str(tmp_path / "r.sqlite")]) == 0
    first, second, verdict = capsys.readouterr().out.splitlines()
    assert first.split()[:5] == ["500", "g", "shows", "500", "g,"] and first.endswith("pass")
    assert second.endswith("pass") and verdict.startswith("passes OIML R 76-1:2006, table 6, class III")


def test_a_mass_that_is_off_fails_and_says_what_to_do(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["daily", "--port", f"{url}&mass_2000=-2.5", "--loads", "500,2000", "--records", str(tmp_path / "r.sqlite")]
    assert run(words) == 1
    assert "Repeat it once." in capsys.readouterr().out
    assert run([*words, "--json"]) == 1
    result = json.loads(capsys.readouterr().out)
    assert [check["passes"] for check in result["checks"]] == [True, False] and not result["passes"]
    # OIML R 76-1:2006, 3.5.2: in service twice the limits of table 6
    assert [check["limit_g"] for check in result["checks"]] == [1, 2]


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("heavy", "--loads 'heavy'; expected a number from 0"),
        ("500,0", "--loads 0; expected a mass in grams above 0"),
        ("500,4000", "--loads 4000; expected no more than Max, 3000 g"),
    ],
)
def test_masses_that_cannot_be_are_named(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], given: str, says: str
) -> None:
    assert run(["daily", "--port", url, "--loads", given, "--records", str(tmp_path / "r.sqlite")]) == 2
    assert says in capsys.readouterr().err


class PersonWithMasses(PersonAtTerminal):
    """Puts the masses on the virtual scale when asked, then presses Enter."""

    def __init__(self, scale: Scale) -> None:
        super().__init__()
        self._hand = VirtualHand(scale)

    def act(self, setting: Setting) -> None:
        self._hand.act(setting)
        super().act(setting)


def test_a_person_needs_enter_alone(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    kept: list[Request] = []

    def keep(request: Request, answer: Answer, accepted: str) -> None:
        kept.append(request)

    monkeypatch.setattr("sys.stdin", io.StringIO("\n\n\n"))
    with Scale.open(URL) as scale:
        scale.store_coefficients(coefficients())
        run = Run(DailyCheck(HELD, loads(500, 2000)).steps)
        perform(run, scale, PersonWithMasses(scale), keep)
    assert len(kept) == 7 and len(run.outcomes) == 2
    asked = capsys.readouterr().err.split("Please ")[1:]
    placed = ["clear the pan", "put 500 g on the scale", "put 2000 g on the scale"]
    assert [line.split(",")[0] for line in asked] == placed


def test_a_scale_is_adjusted_at_two_points_and_checked_at_every_step(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["calibrate", "--port", URL, "--max", "3000", "--division", "1", "--two-point", "--steps", "4"]
    points = tmp_path / "points.csv"
    assert run([*words, "--records", str(tmp_path / "r.sqlite"), "--observations", str(points), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert [row.split(",")[0] for row in points.read_text().splitlines()[-2:]] == ["0", "3000"]
    assert [step["load_g"] for step in result["steps"]] == [0, 750, 1500, 2250, 3000, 2250, 1500, 750, 0]


def test_masses_of_a_register_count_with_what_they_really_weigh(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    records = ["--records", str(tmp_path / "r.sqlite")]
    pieces = (Piece("1000", Decimal(1000), Decimal("1000.4"), Decimal("0.02")), Piece("2000", Decimal(2000)))
    certificate = Certificate("K-7", "invented mass laboratory", date(2020, 1, 2))
    with Journal(tmp_path / "r.sqlite") as journal:
        add(journal, [MassSet("BOX", pieces, certificate)], "AB", "set up")
    words = ["daily", "--port", f"{url}&mass_1000=0.4", "--masses", "BOX", *records, "--json"]
    assert run([*words, "--loads", "1000"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["checks"]
    assert found["load_g"] == 1000.4 and abs(found["error_g"]) < 0.2  # 0.4 g heavier, and known to be
    assert run([*words, "--loads", "2000"]) == 3
    assert "certificate K-7 of mass set BOX has no value for piece 2000" in capsys.readouterr().err
