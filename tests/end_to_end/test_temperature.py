"""A soak of the virtual scale from bytes on the wire to a compensated scale: what drifted drifts no more."""

import json
from contextlib import closing
from itertools import islice
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from scalewright.link.scale import Scale
from shared_calc.coefficient_record import decode

ZERO_PER_C, SPAN_PER_C = 1e-4, -2e-4  # of a cell that nobody compensated: 0.5 g in 1 C, and 200 ppm in 1 C
CELL = f"&cell_zero_per_c={ZERO_PER_C}&cell_span_per_c={SPAN_PER_C}&room_time_constant_s=60"
CALIBRATE = ["--max", "3000", "--division", "1", "--degree", "1", "--steps", "3"]


def soak(url: str, path: Path, airs_c: tuple[int, ...]) -> str:
    """Record 6 min without and with a load at each temperature of the air, which the cell follows in a minute or so."""
    steps = []
    for air_c in airs_c:
        steps += ["--step", f"0:6min@{air_c}", "--step", "3000:6min"]
    assert run(["record", "--port", url, *steps, str(path)]) == 0
    return str(path)


def drift(capsys: pytest.CaptureFixture[str], code: int, *words: str) -> dict:
    capsys.readouterr()
    assert run(["drift", *words, "--json"]) == code
    return json.loads(capsys.readouterr().out)


def test_a_soak_ends_in_a_scale_that_drifts_twenty_times_less(tmp_path: Path, capsys) -> None:
    url = f"virtual://chamber?speed=0&storage={tmp_path / 'flash'}{CELL}"
    records = ["--records", str(tmp_path / "r.sqlite")]
    assert run(["calibrate", "--port", url, *CALIBRATE, *records]) == 0
    with Scale.open(url) as scale:
        at_c = float(scale.read().temperature_c)
    reference = ["--reference", f"{at_c}"]

    first = drift(capsys, 0, soak(url, tmp_path / "first.csv", (20, 35, 10)), "--port", url, *reference, "--store")
    before, u = first["as_found"], first["as_found"]["u_zero_g_per_c"]
    assert abs(before["zero_g_per_c"] - 5000 * ZERO_PER_C) < 4 * u < 0.05
    assert abs(before["span_per_c"] - SPAN_PER_C) < 4 * before["u_span_per_c"] < 1e-5
    assert before["passes"] is False and first["compensated"]["passes"] is True
    assert first["sensor_lag_s"] == pytest.approx(20, rel=0.15)  # thermometer.py

    again = drift(capsys, 0, soak(url, tmp_path / "again.csv", (12, 30)), "--port", url)
    after = again["as_found"]
    assert abs(after["zero_g_per_c"]) < abs(before["zero_g_per_c"]) / 20
    assert abs(after["span_per_c"]) < abs(before["span_per_c"]) / 20
    assert after["passes"] is True

    # The indications of the device itself, warm: within half a division of the load, where it was 7 g off.
    with Scale.open(url) as scale:
        scale.ask("VIRTual:TEMPerature 32")
        scale.ask("VIRTual:LOAD 3000")
        with closing(scale.readings()) as stream:
            *_, reading = islice(stream, 2000)
        assert abs(float(reading.indication_g) - 3000) <= 1
        kept = decode(scale.read_coefficients())
        uncompensated_g = float(kept.curve.evaluate(reading.counts)) / 2**kept.curve.binary_exponent
        assert abs(uncompensated_g - 3000) > 1

    # A calibration in the warm keeps the compensation, and the scale is right again in the cold.
    warm = url + "&room_air_c=30"
    assert run(["calibrate", "--port", warm, *CALIBRATE, *records]) == 0
    with Scale.open(url) as scale:
        assert decode(scale.read_coefficients()).compensation.fields == kept.compensation.fields
    assert run(["check", "--port", url + "&room_air_c=15", "--steps", "3", *records]) == 0


def test_a_recording_shows_the_flag_while_the_thermometer_is_lost(tmp_path: Path) -> None:
    url = f"virtual://chamber?speed=0&storage={tmp_path / 'flash'}{CELL}"
    assert run(["calibrate", "--port", url, *CALIBRATE, "--records", str(tmp_path / "r.sqlite")]) == 0
    with Scale.open(url) as scale:
        assert scale.read().temperature_c is not None
        scale.ask("VIRTual:THERmometer OFF")
        lost = scale.read()
        assert lost.temperature_c is None and "COMPENSATION_HELD" not in lost.faults  # nothing to hold yet
