"""Guards at the bench: what is registered, what the device says, and a job that stops or goes on for a reason."""

import contextlib
import json
import shutil
from pathlib import Path

import pytest

from scalewright.command_line.main import BAD_INPUT, NOT_DONE, PASSED, run
from scalewright.records.journal import Journal
from tests.host.test_register_files import write

SAID = "--by", "AB", "--why", "set up"
BOX = """# key = "BOX-F1"
# certificate = "K-1"
# issued_by = "invented mass laboratory"
# certified = 2020-01-02
# due = 2999-01-02
name,nominal_g,mass_g,expanded_u_g,class
1000,1000,1000.0012,0.0016,F1
2000,2000,1999.9991,0.0030,F1
"""


def port(folder: Path) -> str:
    return f"virtual://PLOVER?speed=0&rate=80&seed=7&storage={folder / 'flash'}"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with PLOVER, registered as it was left by its first adjustment, and with its mass set."""
    folder = tmp_path_factory.mktemp("bench")
    url = port(folder)
    with contextlib.chdir(folder):
        set_up(url)
    return folder


def set_up(url: str) -> None:
    adjust = "calibrate", "--port", url, "--max", "3000", "--division", "1", "--steps", "3", "--readings", "4"
    assert run([*adjust, "--skip-as-found"]) == PASSED
    write(Path("box.csv"), BOX)
    assert run(["register", "masses", "add", "--from", "box.csv", *SAID]) == PASSED
    assert run(["register", "scale", "add", "PLOVER-3", "--port", url, "--class", "III", *SAID]) == PASSED


@pytest.fixture
def url(bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The port of PLOVER in a bench of this test's own, which is the current folder."""
    shutil.copytree(bench, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    return port(tmp_path)


def check(url: str, *words: str) -> int:
    used = "--scale", "PLOVER-3", "--masses", "BOX-F1", "--by", "AB", "--steps", "3", "--readings", "4"
    return run(["check", "--port", url, *used, *words])


def jobs() -> list[dict[str, object]]:
    with Journal("scalewright.sqlite", read_only=True) as journal:
        return [entry.body for entry in journal.entries(kind="job.begun")]


def test_a_job_on_a_scale_as_it_was_left_uses_the_masses_as_certified(url: str) -> None:
    assert check(url) == PASSED
    begun = json.dumps(jobs()[-1])
    assert '"masses": ["BOX-F1"]' in begun
    assert '"load_g": "3000.0003", "pieces": ["2000", "1000"]' in begun


def test_a_scale_that_somebody_adjusted_stops_the_job_unless_a_reason_is_given(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["seal", "--port", url]) == PASSED  # counts an event that the records know nothing of
    assert check(url) == NOT_DONE
    told = capsys.readouterr().err
    assert "scale adjusted: scale PLOVER-3 shows event 2 " in told
    assert "or give a reason to go on, which is recorded" in told
    assert len(jobs()) == 1
    assert check(url, "--set-aside", "scale adjusted=sealed after the adjustment") == PASSED
    assert '"reason": "sealed after the adjustment"' in json.dumps(jobs()[-1])
    assert check(url) == PASSED  # the job that ended has seen it as it is


def test_masses_past_their_due_date_stop_the_job(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["register", "masses", "change", "BOX-F1", "--due", "2020-12-31", *SAID]) == PASSED
    assert check(url) == NOT_DONE
    assert "mass overdue: mass set BOX-F1 was due on 2020-12-31, today is " in capsys.readouterr().err


def test_another_scale_behind_the_port_stops_the_job(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert check(f"{url}&serial=WREN") == NOT_DONE
    assert "another scale: serial number WREN answers, expected PLOVER" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (["--set-aside", "mass overdue"], "--set-aside 'mass overdue'; expected GUARD=REASON"),
        (["--set-aside", "mass late=x"], "guard 'mass late'; expected one of mass overdue"),
        (["--set-aside", "mass overdue= "], "the reason to set 'mass overdue' aside is ' '; expected a line of text"),
        (["--by", "Ada B."], "initials 'Ada B.'; expected 2 to 4 letters"),
        (["--masses", "BOX"], "mass set 'BOX' is not registered; expected one of: BOX-F1"),
        (["--steps", "2"], "1500 g cannot be put together from mass set BOX-F1: 1000, 2000"),
    ],
)
def test_what_was_typed_badly_begins_no_job(
    url: str, capsys: pytest.CaptureFixture[str], words: list[str], complaint: str
) -> None:
    assert check(url, *words) == BAD_INPUT
    assert complaint in capsys.readouterr().err
    assert len(jobs()) == 1
