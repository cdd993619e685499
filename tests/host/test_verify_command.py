"""`scalewright verify` on the virtual scale, in this process: what it prints and how it ends."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import BAD_INPUT, FAILED, NOT_DONE, PASSED, run
from scalewright.procedures.job import Story
from scalewright.records.journal import Journal
from tests.host.test_register_files import write

SAID = "--by", "AB", "--why", "set up"
BOX = """# key = "BOX-M1"
name,nominal_g,mass_g,expanded_u_g,class
100,100,,,M1
200,200,,,M1
200*,200,,,M1
500,500,,,M1
1000,1000,,,M1
2000,2000,,,M1
"""


@pytest.fixture
def url(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> str:
    """The port of an adjusted scale of Max 3 kg, d = 1 g; records and all else go to a folder of its own."""
    monkeypatch.chdir(tmp_path)
    url = f"virtual://PLOVER?speed=0&rate=80&seed=7&storage={tmp_path / 'flash'}"
    adjust = "calibrate", "--port", url, "--max", "3000", "--division", "1", "--steps", "3", "--readings", "4"
    assert run([*adjust, "--skip-as-found"]) == PASSED
    capsys.readouterr()
    return url


def verify(url: str, *words: str) -> int:
    return run(["verify", "--port", url, "--readings", "4", *words])


def test_each_outcome_stands_beside_its_limit_under_the_title_of_its_test(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verify(url, "--tests", "quick", "--steps", "3") == PASSED
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "errors over the range (OIML R 76-1:2006, table 6, class III, e = 1 g)"
    assert lines[1].split() == ["error", "at", "0", "g,", "up", "+0", "0.5", "g", "pass"]
    assert "eccentricity (OIML R 76-1:2006, 3.6.2)" in lines
    assert lines[-2:] == ["", "passes"]
    assert max(map(len, lines)) <= 80


def test_a_fault_is_named_with_what_to_check(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert verify(f"{url}&cell_corner_x_per_mm=3e-5", "--tests", "eccentricity") == FAILED
    *_, named, verdict = capsys.readouterr().out.splitlines()
    assert named.startswith("corner error: the corner ") and "To check: level the scale" in named
    assert verdict == "FAILS"


def test_what_it_takes_is_told_before_and_begins_no_job(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    with Journal("scalewright.sqlite") as journal:
        head = journal.head()
        assert verify(url, "--tests", "creep", "--outline") == PASSED
        # half an hour, and zero, load, zero, exercise: 5 s each (common practice), and the readings
        assert capsys.readouterr().out == "preparation, creep and zero return: 8 readings, about 30 min\n"
        assert verify(url, "--tests", "warm-up", "--cold", "60", "--on-for", "20", "--outline", "--json") == PASSED
        outline = json.loads(capsys.readouterr().out)
        assert outline["stages"] == ["preparation", "warm-up"] and 110 < outline["duration_s"] / 60 < 115
        assert journal.head() == head


def test_one_piece_of_a_registered_set_is_found_wrong(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    """500 is part of 600, 1500, 1800 and 2700 g: each of them is off, and nothing else."""
    write(Path("box.csv"), BOX)
    assert run(["register", "masses", "add", "--from", "box.csv", *SAID]) == PASSED
    assert run(["register", "scale", "add", "PLOVER-3", "--port", url, "--class", "III", *SAID]) == PASSED
    used = "--scale", "PLOVER-3", "--masses", "BOX-M1", "--set-aside", "mass without certificate=an exercise"
    capsys.readouterr()
    assert verify(f"{url}&mass_500=-2", "--tests", "range", "--steps", "10", *used, "--json") == FAILED
    result = json.loads(capsys.readouterr().out)
    (suspicion,) = result["suspicions"]
    assert suspicion["fault"] == "bad reference mass"
    assert suspicion["seen"].startswith("with 500 on, the scale shows 2")
    with Journal("scalewright.sqlite") as journal:
        story = Story.of(journal.entries(job=result["job"]), result["job"])
        assert (story.circumstances.scale, story.circumstances.masses) == ("PLOVER-3", ("BOX-M1",))
        assert journal.head().hash == result["records_head"]


def test_limits_in_service_are_twice_those_of_the_first_test(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    """OIML R 76-1:2006, 3.5.2 (from memory). A span 0.07 % high: 2.1 g at 3 kg, within 3 g and beyond 1.5 g."""
    worn = f"{url}&cell_rated_output_mv_per_v=2.0014"
    assert verify(worn, "--tests", "range", "--steps", "3") == FAILED
    assert verify(worn, "--tests", "range", "--steps", "3", "--in-service") == PASSED
    assert "wrong span: all loads read 0.07" in capsys.readouterr().out
    assert run(["check", "--port", worn, "--steps", "3", "--readings", "4"]) == FAILED
    assert "wrong span: all loads read 0.07" in capsys.readouterr().out  # a check names it too


def test_a_scale_that_shows_nothing_at_max_fails_by_what_was_found_before(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """10 g too much at Max: the display is dark beyond Max + 9 e (OIML R 76-1:2006, 4.2.3, from memory)."""
    worn = f"{url}&cell_rated_output_mv_per_v=2.01"
    assert verify(worn, "--tests", "range,discrimination", "--json") == FAILED
    printed = capsys.readouterr()
    result = json.loads(printed.out)
    assert "ended before all was tested: the device shows no mass: OVER_RANGE" in printed.err
    assert (result["whole"], result["passes"]) == (False, False)
    assert [suspicion["fault"] for suspicion in result["suspicions"]] == ["wrong span"]
    assert verify(worn, "--tests", "discrimination") == NOT_DONE


def test_what_cannot_be_tested_is_one_line(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert verify(url, "--tests", "corners") == BAD_INPUT
    assert "test 'corners'; expected one of quick, usual, full, laboratory, or of range, " in capsys.readouterr().err
