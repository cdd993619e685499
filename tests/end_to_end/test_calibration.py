"""The whole way: loads on a virtual cell, the unmodified firmware behind a port, coefficients, check, records."""

import json
from collections.abc import Callable
from contextlib import closing
from itertools import islice
from pathlib import Path

import pytest

from scalewright.command_line.main import run
from scalewright.errors import DeviceFault, LinkError
from scalewright.link.scale import Scale
from scalewright.records.journal import Journal
from shared_calc.coefficient_record import SIZE
from tests.firmware.parts import EVENT_BYTES
from tests.on_micropython import runtimes

SLOT_BYTES = SIZE + 8  # a sequence number before the record, a CRC-32 after both

Url = Callable[..., str]


@pytest.fixture(params=["inprocess", "micropython"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> Url:
    """Return a function that gives the URL of one scale, whose coefficients outlive the port."""
    if request.param == "micropython":
        runtimes.command_or_skip(runtimes.UNIX_PORT)

    def make(**options: object) -> str:
        given = {"seed": 1729, "serial": "PLOVER", "speed": 0, "rate": 80, "storage": tmp_path / "flash", **options}
        return f"virtual://plover?runtime={request.param}&" + "&".join(f"{k}={v}" for k, v in given.items())

    return make


def calibrate(url: str, records: Path, *options: str) -> int:
    words = ["calibrate", "--port", url, "--max", "3000", "--division", "1", "--records", str(records), *options]
    return run(words)


def test_a_scale_is_calibrated_and_its_coefficients_outlive_a_crash(
    url: Url, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    records = tmp_path / "records.sqlite"
    assert calibrate(url(), records, "--json") == 0
    result = json.loads(capsys.readouterr().out)
    assert len(result["steps"]) == 21
    assert all(abs(step["error_g"]) <= step["limit_g"] for step in result["steps"])

    with Scale.open(url()) as scale:  # the device has been switched off and on
        assert scale.read_coefficients().hex() == result["coefficients"]
        assert (scale.identity.coefficients, scale.identity.events) == (result["coefficients_crc"], 1)
        scale.ask("VIRTual:LOAD 1234")
        indications = {scale.read().indication_g for _ in range(5)}
        assert all(value is not None and abs(value - 1234) <= 1 for value in indications)

    with Journal(records) as journal:
        assert journal.verify(result["records_head"]).holds
        kinds = [entry.kind for entry in journal.entries()]
    # No coefficients are found; 21 loads, each placed and read; one storing of coefficients; the same loads as left.
    assert kinds == ["job.begun", *["job.answer"] * (1 + 43 + 42), "job.ended"]


def test_a_killed_device_is_a_lost_line_and_starts_again_as_it_was(tmp_path: Path) -> None:
    runtimes.command_or_skip(runtimes.UNIX_PORT)
    url = f"virtual://plover?runtime=micropython&speed=0&rate=80&storage={tmp_path / 'flash'}"
    assert calibrate(url, tmp_path / "records.sqlite", "--steps", "2", "--degree", "1") in (0, 1)
    with Scale.open(url) as scale:
        before = scale.read_coefficients()
        child = scale._port.child
        assert child is not None
        child.kill()
        with pytest.raises(LinkError, match=r"line was lost|no answer"):
            scale.ask("*IDN?")
    with Scale.open(url) as scale:
        assert scale.read_coefficients() == before


def test_power_cut_at_every_byte_leaves_the_old_coefficients_or_the_new(url: Url, tmp_path: Path) -> None:
    calibrate(url(), tmp_path / "records.sqlite", "--steps", "2", "--degree", "1")
    with Scale.open(url()) as scale:
        old = scale.read_coefficients()
    outcomes = set()
    for written in range(EVENT_BYTES - 2, EVENT_BYTES + SLOT_BYTES + 1):
        with Scale.open(url()) as scale:
            before = scale.read_coefficients()
            wanted = _another_record(old) if before == old else old
            scale.ask(f"VIRTual:POWer:CUT {written}")
            with pytest.raises(LinkError):
                scale.store_coefficients(wanted)
                scale.ask("*IDN?")
        with Scale.open(url()) as scale:
            after = scale.read_coefficients()
            assert after in (before, wanted)
            outcomes.add(after == wanted)
            assert scale.read().faults == "OK"
    assert outcomes == {False, True}  # the last cut comes after the last byte


def _another_record(data: bytes) -> bytes:
    """Return a record that differs from the given one in its Max."""
    from shared_calc.coefficient_record import decode, encode

    record = decode(data)
    record.max_divisions -= 100
    return bytes(encode(record))


def test_a_device_without_coefficients_says_so_and_can_be_given_some(url: Url) -> None:
    with Scale.open(url()) as scale:
        assert scale.identity.coefficients == "none"
        assert scale.read().faults == "UNCALIBRATED"
        with pytest.raises(DeviceFault, match="no coefficients stored"):
            scale.read_coefficients()


def test_coefficients_that_could_not_be_trusted_are_refused_when_saved(url: Url, tmp_path: Path) -> None:
    calibrate(url(), tmp_path / "records.sqlite", "--steps", "2", "--degree", "1")
    with Scale.open(url()) as scale:
        good = scale.read_coefficients()
        for damaged in (good[:-1], good[:10] + bytes([good[10] ^ 1]) + good[11:], b"", bytes(SIZE)):
            with pytest.raises(DeviceFault):
                scale.store_coefficients(damaged)
        assert scale.read_coefficients() == good


def test_a_line_that_damages_and_loses_bytes_is_worked_over(url: Url, tmp_path: Path) -> None:
    noisy = url(damaged_ppm=300, lost_ppm=100)
    assert calibrate(noisy, tmp_path / "records.sqlite", "--steps", "2", "--degree", "2") == 0
    with Scale.open(noisy) as scale, closing(scale.readings()) as stream:
        for reading in islice(stream, 500):
            assert reading.faults == "OK"
        assert scale.conversation.damaged_lines > 0
        assert scale.conversation.readings_missed > 0


def test_faults_of_the_wiring_are_flags_and_pass_when_mended(url: Url) -> None:
    with Scale.open(url()) as scale:
        for fault, flag in (("STUCk", "NO_DATA"), ("SATurated", "SATURATED")):
            scale.ask(f"VIRTual:FAULt {fault}")
            assert any(flag in scale.read().faults for _ in range(8))
            scale.ask("VIRTual:FAULt NONE")
            assert "UNCALIBRATED" in {scale.read().faults for _ in range(8)}
