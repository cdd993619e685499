"""Sealing a scale from the command line, on the unmodified firmware."""

import json
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from scalewright.errors import DeviceFault
from scalewright.link.scale import Scale
from shared_calc.coefficient_record import identity
from shared_calc.reading import REJECTED
from tests.firmware.parts import record


@pytest.fixture
def url(tmp_path: Path) -> str:
    url = f"virtual://WREN?speed=0&rate=80&storage={tmp_path / 'flash'}"
    with Scale.open(url) as scale:
        scale.store_coefficients(record(1))
    return url


def test_a_sealed_scale_keeps_its_coefficients_and_lists_what_happened(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["seal", "--port", url, "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert (printed["serial_number"], printed["sealed"], printed["number_of_events"]) == ("WREN", True, 2)
    assert [event["reason"] for event in printed["last_events"]] == ["SEALED", "COEFFICIENTS"]
    assert printed["last_events"][1]["coefficients_after"] == identity(record(1))
    with Scale.open(url) as scale, pytest.raises(DeviceFault, match="Command protected"):
        scale.store_coefficients(record(2))
    assert run(["seal", "--port", url, "--open"]) == 3  # no hand on the switch
    assert "hold the opening switch" in capsys.readouterr().err


def test_a_rejected_scale_says_so_until_it_is_accepted(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["seal", "--port", url, "--reject", "corner 2 e"]) == 0
    assert run(["seal", "--port", url, "--show"]) == 1
    assert "WREN: open, verification REJECTED: corner 2 e, 2 events\n" in capsys.readouterr().out
    with Scale.open(url) as scale:
        assert scale.read().flags & REJECTED
    assert run(["seal", "--port", url, "--accept"]) == 0
    with Scale.open(url) as scale:
        assert not scale.read().flags & REJECTED
        assert scale.identity.events == 3


@pytest.mark.parametrize("reason", ["", "  ", "x" * 41, 'a"b', "d\u00e9faut"])
def test_a_reason_the_device_could_not_keep_is_refused(reason: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["seal", "--port", "virtual://x", "--reject", reason]) == 2
    assert "1 to 40 ASCII characters" in capsys.readouterr().err


def test_a_check_marks_the_scale_by_its_outcome(tmp_path: Path) -> None:
    url = f"virtual://worn?speed=0&rate=80&storage={tmp_path / 'flash'}"
    worn = f"{url}&cell_rated_output_mv_per_v=2.01"
    records = ["--records", str(tmp_path / "r.sqlite"), "--steps", "3"]
    assert run(["calibrate", "--port", url, "--max", "3000", "--division", "1", *records]) == 0
    for port, code, verification in ((worn, 1, "REJECTED"), (url, 0, "ACCEPTED")):
        assert run(["check", "--port", port, "--mark", *records]) == code
        with Scale.open(url) as scale:
            assert scale.ask("CALibration:VERification?").startswith(verification)
            assert bool(scale.read().flags & REJECTED) == (verification == "REJECTED")
