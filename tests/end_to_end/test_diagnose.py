"""Every fault that the device can name is explained, and a fault is found from the command line."""

import json

import pytest

from scalewright.command_line import diagnose
from scalewright.command_line.main import run
from scalewright.link.diagnosis import MEANINGS
from scalewright_device.faults import CAUSES
from shared_calc.reading import FAULTS, FLAG_NAMES

NAMES = [*CAUSES, *(name for k, name in enumerate(FLAG_NAMES) if FAULTS >> k & 1)]


@pytest.mark.parametrize("name", NAMES)
def test_every_name_is_explained_with_something_to_check(name: str) -> None:
    meaning, checks = MEANINGS[name]
    assert meaning and all(checks) and len(set(checks)) == len(checks) > 0


def test_no_name_is_explained_that_no_device_gives() -> None:
    assert sorted(MEANINGS) == sorted(NAMES)


def test_a_new_scale_is_told_to_be_adjusted(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["diagnose", "--port", "virtual://x?speed=0&rate=80", "--json"]) == 1
    printed = json.loads(capsys.readouterr().out)
    assert [finding["name"] for finding in printed["findings"]] == ["UNCALIBRATED"]
    assert 10 < printed["noise_counts"] < 100  # of a HX711: about 40


def test_the_checks_come_in_order_with_the_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["diagnose", "--port", "virtual://x?speed=0&rate=80"]) == 1
    assert "UNCALIBRATED: there are no coefficients in use. Check, in this order:\n  1. " in capsys.readouterr().out
    assert "before touching any wire" in MEANINGS["MAINS_PICKUP"][1][0]
    assert diagnose.READINGS > 64
