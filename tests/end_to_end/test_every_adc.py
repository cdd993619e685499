"""The same scale with each ADC: calibrated by the same loads it passes class III, and its faults are named the same."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from scalewright.link.scale import Scale
from tests.on_micropython import runtimes

WIRINGS = [("hx711", "spi"), ("hx711", "pins"), ("nau7802", "i2c"), ("ads1232", "spi"), ("ads1232", "pins")]

Url = Callable[..., str]


@pytest.fixture(params=["inprocess", "micropython"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> Url:
    if request.param == "micropython":
        runtimes.command_or_skip(runtimes.UNIX_PORT)

    def make(adc: str, driver: str, rate: int = 80) -> str:
        options = f"adc={adc}&driver={driver}&rate={rate}&seed=1729&speed=0&storage={tmp_path / adc}"
        return f"virtual://plover?runtime={request.param}&{options}"

    return make


@pytest.mark.parametrize(("adc", "driver"), WIRINGS)
def test_the_same_loads_make_a_class_iii_scale(
    url: Url, adc: str, driver: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """OIML R 76-1:2006, table 6; Max 3 kg, e = 1 g."""
    port = url(adc, driver)
    words = ["calibrate", "--port", port, "--max", "3000", "--division", "1", "--class", "III", "--json"]
    assert run([*words, "--records", str(tmp_path / "records.sqlite")]) == 0
    steps = json.loads(capsys.readouterr().out)["steps"]
    assert [step["load_g"] for step in steps] == [min(k, 20 - k) * 300 for k in range(21)]
    assert all(abs(step["error_g"]) <= step["limit_g"] for step in steps)
    assert {step["limit_g"] for step in steps} == {0.5, 1.0, 1.5}


@pytest.mark.parametrize(("adc", "driver"), WIRINGS)
def test_an_adc_that_is_unplugged_and_plugged_again_is_named_and_found(url: Url, adc: str, driver: str) -> None:
    with Scale.open(url(adc, driver)) as scale:
        before = scale.read()
        scale.ask("VIRTual:FAULt STUCk")
        assert any("NO_DATA" in scale.read().faults for _ in range(8))
        scale.ask("VIRTual:FAULt NONE")
        after = [scale.read() for _ in range(3)][-1]
        assert after.faults == before.faults == "UNCALIBRATED"
        assert before.counts is not None
        assert after.counts is not None
        assert abs(after.counts - before.counts) < 500  # noise


@pytest.mark.parametrize(("adc", "driver"), WIRINGS)
def test_a_bridge_beyond_the_range_is_saturated(url: Url, adc: str, driver: str) -> None:
    with Scale.open(url(adc, driver)) as scale:
        scale.ask("VIRTual:FAULt SATurated")
        assert any("SATURATED" in scale.read().faults for _ in range(8))
