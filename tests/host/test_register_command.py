"""`scalewright register` as a technician at a shell meets it; the scale is the unmodified firmware, virtually wired."""

import json
from pathlib import Path
from typing import Any

import pytest

from scalewright.command_line.main import BAD_INPUT, NOT_DONE, PASSED, run
from scalewright.link.scale import Scale
from scalewright.records.journal import Journal
from shared_calc.coefficient_record import identity
from tests.firmware.parts import record
from tests.host.test_register_files import BOX_FILE, SCALES_FILE, write

KIND = "--kind", "barometer", "--expanded-u", "1"
SAID = "--by", "ab", "--why", "bought"


@pytest.fixture(autouse=True)
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def url(tmp_path: Path) -> str:
    """A scale of 3 kg with d = 0.1 g, its seal open."""
    url = f"virtual://PLOVER?speed=0&rate=80&storage={tmp_path / 'flash'}"
    with Scale.open(url) as scale:
        scale.store_coefficients(record(1))
    return url


def result(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    capsys.readouterr()
    assert run(["register", *words, "--json"]) == PASSED
    return json.loads(capsys.readouterr().out)


def test_a_scale_is_registered_as_the_device_says(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = "--port", url, "--class", "II", "--interval-months", "12", "--place", "bench 2"
    (item,) = result(capsys, "scale", "add", "PLOVER-3", *words, *SAID)["items"]
    assert (item["serial_number"], item["max_g"], item["d_g"], item["min_g"]) == ("PLOVER", 3000, 0.1, 5)
    shown = result(capsys, "scale", "show", "PLOVER-3")
    assert shown["last_seen"]["coefficients"] == identity(record(1))
    assert (shown["last_seen"]["events"], shown["last_seen"]["sealed"]) == (1, False)
    assert shown["limits_source"] == "OIML R 76-1:2006, table 6, class II, e = 0.1 g"
    assert [(each["by"], each["why"]) for each in shown["history"]] == [("AB", "bought")]


def test_a_scale_is_looked_at_again_and_another_one_is_not_taken_for_it(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["register", "scale", "add", "PLOVER-3", "--port", url, "--class", "II", *SAID]) == PASSED
    assert run(["seal", "--port", url]) == PASSED
    words = "scale", "change", "PLOVER-3", "--by", "CD", "--why", "sealed"
    (item,) = result(capsys, *words, "--port", url)["items"]
    assert (item["seen"]["events"], item["seen"]["sealed"]) == (2, True)
    assert run(["register", *words, "--port", "virtual://WREN?speed=0"]) == BAD_INPUT
    assert "scale PLOVER-3: WREN answers; expected serial number PLOVER" in capsys.readouterr().err


def test_scales_come_from_a_file_and_go_to_one(capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("scales.csv"), SCALES_FILE + "WREN-6,virtual,WREN,6000,2,III\n")
    result(capsys, "scale", "add", "--from", "scales.csv", *SAID)
    result(capsys, "scale", "change", "WREN-6", "--place", "=bench", *SAID)
    result(capsys, "scale", "export", "--to", "out.csv")
    assert result(capsys, "scale", "change", "--from", "out.csv", *SAID)["entries"] == [4, 5]
    listed = result(capsys, "scale", "list")["items"]
    assert [(item["key"], item["place"]) for item in listed] == [("PLOVER-3", ""), ("WREN-6", "=bench")]


def test_a_file_with_a_key_that_is_taken_registers_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("scales.csv"), SCALES_FILE)
    result(capsys, "scale", "add", "--from", "scales.csv", *SAID)
    write(Path("scales.csv"), SCALES_FILE.replace("\nPLOVER-3", "\nWREN-6,virtual,WREN,6000,2,III\nPLOVER-3"))
    assert run(["register", "scale", "add", "--from", "scales.csv", *SAID]) == BAD_INPUT
    assert "scale PLOVER-3 is registered already (change it, or choose another key)\n" in capsys.readouterr().err
    assert [item["key"] for item in result(capsys, "scale", "list")["items"]] == ["PLOVER-3"]


def test_a_mass_set_lives_from_its_first_certificate_to_its_retirement(capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("box.csv"), BOX_FILE)
    result(capsys, "masses", "add", "--from", "box.csv", *SAID)
    recalibrated = BOX_FILE.replace("K-2026", "K-2027").replace("200.000310", "200.000610").replace("= 2026", "= 2027")
    write(Path("box.csv"), recalibrated.replace("due = 2027", "due = 2028"))
    result(capsys, "masses", "change", "--from", "box.csv", "--by", "CD", "--why", "recalibrated")
    shown = result(capsys, "masses", "show", "BOX-F1", "--piece", "200", "--load", "400")
    assert shown["due"] == "2028-03-02"
    assert [value["conventional_mass_g"] for value in shown["piece_values"]] == [200.00031, 200.00061]
    assert shown["piece_values"][1]["e_n"] == pytest.approx(0.3 / (2 * 0.3**2) ** 0.5)
    assert shown["load"] == {"load_g": 400.00049, "pieces": ["200", "200*"], "u_load_g": 0.0003}
    result(capsys, "masses", "retire", "BOX-F1", *SAID)
    assert result(capsys, "masses", "list") == {"items": []}
    assert [item["state"] for item in result(capsys, "masses", "list", "--all")["items"]] == ["retired"]


def test_the_pieces_of_a_set_are_shown_as_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    write(Path("box.csv"), BOX_FILE)
    assert run(["register", "masses", "add", "--from", "box.csv", *SAID]) == PASSED
    assert run(["register", "masses", "show", "BOX-F1", "--load", "300", "--piece", "200"]) == PASSED
    told = capsys.readouterr().out
    assert ["200", "200.000310", "0.00015", "F1"] in [line.split() for line in told.splitlines()]
    assert ["100", "100", "nominal", "0.000289", "F1"] in [line.split() for line in told.splitlines()]
    assert "2026-03-02  K-2026-014      200.000310 g, U = 0.00030 g (k = 2)\n" in told
    assert "300 g: 200 + 100 = 300.000310 g, u = 0.000439 g (k = 1)\n" in told


def test_an_instrument_has_the_unit_of_its_kind(capsys: pytest.CaptureFixture[str]) -> None:
    paper = "--certificate", "K-9", "--issued-by", "invented laboratory", "--certified", "2026-03-02"
    words = "--kind", "barometer", "--expanded-u", "0.5", "--correction=-0.2", *paper, "--due", "2027-03-02"
    (item,) = result(capsys, "instrument", "add", "ROOM-P", *words, *SAID)["items"]
    assert (item["correction"], item["certificate"]["due"]) == (-0.2, "2027-03-02")
    assert run(["register", "instrument", "list"]) == PASSED
    assert capsys.readouterr().out == "ROOM-P            barometer     U = 0.5 hPa  due 2027-03-02\n"
    assert result(capsys, "instrument", "show", "ROOM-P")["unit"] == "hPa"
    result(capsys, "instrument", "export", "--to", "i.csv")
    assert Path("i.csv").read_text().startswith("key,kind,expanded_u,")


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (["scale", "add", "X", "--max", "3 kg", *SAID], "--max: '3 kg' found; expected a finite number such as 12.5"),
        (["scale", "add", "X", "--class", "III", *SAID], "model is missing; expected --model"),
        (["scale", "add", *SAID], "expected KEY with options, or --from FILE without"),
        (["scale", "add", "X", "--from", "x.csv", *SAID], "expected KEY with options, or --from FILE without"),
        (["scale", "change", "X", "--place", "p", *SAID], "scale 'X' is not registered; expected one of: none yet"),
        (["masses", "add", "X", *SAID], "a new mass set needs its pieces; expected --from FILE"),
        (["instrument", "add", "X", "--kind", "clock", "--expanded-u", "1", *SAID], "kind 'clock'; expected one of"),
        (["instrument", "add", "X", *KIND, "--by", "Ada B", "--why", "x"], "initi"),
        (["instrument", "add", "X", *KIND, "--by", "AB", "--why", "\x1b[2J"], "why"),
        (["instrument", "add", "X", "--due", "soon", *SAID], "--due: 'soon' found; expected a date such as 2026-03-02"),
        (["instrument", "export", "--to", "out.csv"], "nothing is registered yet"),
    ],
)
def test_bad_input_is_one_line_and_leaves_nothing_behind(
    capsys: pytest.CaptureFixture[str], words: list[str], complaint: str
) -> None:
    with Journal("scalewright.sqlite"):
        pass
    assert run(["register", *words]) == BAD_INPUT
    printed = capsys.readouterr()
    assert (printed.out, printed.err.count("\n")) == ("", 1)
    assert complaint in printed.err
    with Journal("scalewright.sqlite") as journal:
        assert journal.head().seq == 0
    assert not Path("out.csv").exists()


def test_a_port_without_a_scale_registers_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["register", "scale", "add", "X", "--port", "no/such/port", "--class", "III", *SAID]) == NOT_DONE
    assert "no/such/port: cannot be opened" in capsys.readouterr().err
