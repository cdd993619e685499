"""A whole verification on the real MicroPython: unattended, in free time, each with one fault of the physical model.

Every run goes by the command, from the virtual cell through the unmodified firmware to the verdict and the name of the
fault. The faults and what they do: firmware/virtual_scale/README.md, "Faults to find".
"""

import json
import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from scalewright.command_line.main import FAILED, PASSED, run
from scalewright.link.scale import Scale
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.daily_check import DailyCheck
from scalewright.procedures.loads import up_and_down
from scalewright.procedures.plans import Plan
from scalewright.procedures.range_check import RangeCheck
from scalewright.procedures.requests import Load, PlaceLoad, SetAir, Setting
from scalewright.procedures.run import Run
from scalewright.procedures.substitution import SubstitutionTest
from scalewright.procedures.suspicions import suspicions
from scalewright.procedures.virtual_hand import VirtualHand
from tests.host.procedures.virtual_bench import HELD, performed
from tests.on_micropython import runtimes

Verify = Callable[..., dict[str, Any]]
OVER_THE_RANGE = Calibration(HELD, as_found=(RangeCheck(up_and_down(Decimal(3000), 5)),))
FEW = "--readings", "4", "--steps", "5", "--times", "4"


@pytest.fixture(scope="module")
def calibrated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A flash with the coefficients of the scale as it is without a fault."""
    runtimes.command_or_skip(runtimes.UNIX_PORT)
    folder = tmp_path_factory.mktemp("calibrated")
    words = "--max", "3000", "--division", "1", "--steps", "6", "--readings", "4", "--skip-as-found"
    records = "--records", str(folder / "r.sqlite")
    assert run(["calibrate", "--port", url_of(folder / "flash"), *words, *records]) == PASSED
    return folder / "flash"


def url_of(flash: Path, rate: int = 80, **faults: object) -> str:
    options = "".join(f"&{name}={value}" for name, value in faults.items())
    return f"virtual://PLOVER?runtime=micropython&speed=0&rate={rate}&seed=1729&storage={flash}{options}"


@pytest.fixture
def verify(calibrated: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Verify:
    """Return a function that verifies the scale with a fault and returns what the command printed."""

    def with_fault(tests: str, *words: str, rate: int = 80, **faults: object) -> dict[str, Any]:
        flash = shutil.copytree(calibrated, tmp_path / "flash")
        url = url_of(flash, rate, **faults)
        options = *FEW, *words, "--json", "--records", str(tmp_path / "r")
        code = run(["verify", "--port", url, "--tests", tests, *options])
        result: dict[str, Any] = json.loads(capsys.readouterr().out)
        assert code == (PASSED if result["passes"] else FAILED)
        return result

    return with_fault


def faults(result: dict[str, Any]) -> list[str]:
    return [suspicion["fault"] for suspicion in result["suspicions"]]


def failing(result: dict[str, Any]) -> set[str]:
    return {outcome["stage"].partition(": ")[2] for outcome in result["outcomes"] if not outcome["passes"]}


def test_a_good_scale_passes_every_test_with_loads_and_nothing_is_suspected(verify: Verify) -> None:
    result = verify("range,repeatability,eccentricity,discrimination,changeover,zero,tare")
    assert result["passes"] and result["suspicions"] == []
    assert len({outcome["stage"] for outcome in result["outcomes"]}) == 7


def test_one_bad_corner_is_found_and_named(verify: Verify) -> None:
    corner = {"cell_corner_x_per_mm": 1.3e-5, "cell_corner_y_per_mm": 1.3e-5, "cell_corner_xy_per_mm2": 8.9e-8}
    result = verify("usual", **corner)
    assert failing(result) == {"eccentricity"}
    assert faults(result) == ["corner error"]
    words = result["suspicions"][0]["seen"].split()
    assert words[:5] == ["the", "corner", "back", "right", "reads"] and words[6:8] == ["g", "more"]
    assert float(words[5]) == pytest.approx(2.45, abs=0.2)  # as the table there computes


def test_a_bad_mass_is_found_and_named(verify: Verify) -> None:
    result = verify("usual", mass_1800=-3)
    assert failing(result) == {"errors over the range"}
    assert faults(result) == ["bad reference mass"]
    assert result["suspicions"][0]["seen"].startswith("with the masses of 1800 g on, the scale shows ")


def test_hysteresis_is_found_and_named(verify: Verify) -> None:
    result = verify("range", cell_hysteresis=0.002)
    assert faults(result) == ["hysteresis"]
    assert " more on the way down than on the way up, and the zero comes back" in result["suspicions"][0]["seen"]


def test_a_restless_place_is_found_and_named(verify: Verify) -> None:
    result = verify("repeatability", room_draught_g=6)  # both series spread, but for once in 10**5
    assert faults(result) == ["does not repeat"]


def test_a_slope_is_found_and_named(verify: Verify) -> None:
    result = verify("tilt")
    assert failing(result) == {"out of level"}
    assert faults(result) == ["out of level"]
    loaded = [outcome["value"] for outcome in result["outcomes"] if " 3000 g" in outcome["what"]]
    assert loaded == pytest.approx([-3.74] * 4, abs=0.3)  # the cosine of 50/1000, and side forces of a part in 1000


def test_creep_is_found_and_named(verify: Verify) -> None:
    result = verify("creep", rate=10, cell_creep_factor=10)
    assert failing(result) == {"creep and zero return"}
    assert faults(result) == ["creep"]


def test_cold_electronics_are_found_and_named(verify: Verify) -> None:
    result = verify("warm-up", rate=10, electronics_warm_up_zero_uv=8)
    assert failing(result) == {"warm-up"}
    assert faults(result) == ["warming up"]


def test_a_span_and_a_zero_that_follow_the_temperature_are_found_and_named(verify: Verify) -> None:
    warm = {"cell_span_per_c": 1e-4, "cell_zero_per_c": 1e-4, "room_time_constant_s": 1}
    result = verify("temperature", "--airs", "20,40", "--look", "60", rate=10, **warm)
    assert faults(result) == ["span with temperature", "zero with temperature"]
    changes = {outcome["what"]: outcome["value"] for outcome in result["outcomes"]}
    assert changes["error at 3000 g, 40.2 °C"] == pytest.approx(6, abs=0.5)
    assert changes["zero in 5 °C, 20.2 to 40.2 °C"] == pytest.approx(2.5, abs=0.1)


class OpensTheWindow(VirtualHand):
    """Somebody does, at the heaviest load."""

    def act(self, setting: Setting) -> None:
        super().act(setting)
        if isinstance(setting, PlaceLoad) and setting.load_g == 3000:
            super().act(SetAir(Decimal(5)))


class LetsItFall(VirtualHand):
    """Three times Max for a moment, where the heaviest load was to be put down gently."""

    def act(self, setting: Setting) -> None:
        if isinstance(setting, PlaceLoad) and setting.load_g == 3000:
            super().act(PlaceLoad(Decimal(9000)))
        super().act(setting)


def performed_on(flash: Path, plan: Plan, hand: type[VirtualHand] = VirtualHand, **faults: object) -> Run[Any]:
    with Scale.open(url_of(flash, **faults)) as scale:
        return performed(plan, scale, hand)


def test_an_overload_is_found_and_named(calibrated: Path) -> None:
    run = performed_on(calibrated, OVER_THE_RANGE, LetsItFall)
    (found,) = suspicions(OVER_THE_RANGE, run)
    # cell_safe_load 1.5 and cell_overload_set 0.01: a hundredth of the 1500 g beyond 7500 g stays
    assert str(found).startswith("zero shift: the zero jumped by +15 g and stayed there. To check: ")


def test_a_temperature_that_changes_during_a_test_is_found_and_named(calibrated: Path) -> None:
    cool = {"cell_zero_per_c": 1e-4, "room_time_constant_s": 1, "thermometer_lag_s": 1}
    run = performed_on(calibrated, OVER_THE_RANGE, OpensTheWindow, **cool)
    assert not OVER_THE_RANGE.passed(run.outcomes)
    (found,) = suspicions(OVER_THE_RANGE, run)
    assert found.fault == "temperature changed"
    assert found.seen.endswith("and 20.1 °C during the test: errors over the range")


def test_substitution_loads_and_the_daily_check_run_there_too(calibrated: Path) -> None:
    built_up = SubstitutionTest(Load(Decimal(1000), (), Decimal("0.005")), 3)
    for plan in (Calibration(HELD, as_found=(built_up,)), DailyCheck(HELD, (Load(Decimal(1000)),))):
        run = performed_on(calibrated, plan)
        assert run.outcomes and plan.passed(run.outcomes)
