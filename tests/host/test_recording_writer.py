"""A recording on disk, whatever ends it."""

from decimal import Decimal
from pathlib import Path

import pytest

from scalewright.errors import InputError, ScalewrightError
from scalewright.recording_writer import RecordingWriter

HEADER = '# scale = "0001"\ntime_s,counts,temperature_c,load_g\n'
ROWS = [
    (500, -42, Decimal("20.0625"), Decimal(0)),
    (600, 8_388_607, None, Decimal("0.5")),
    (1_000_050, 7, None, Decimal(3)),
]
LINES = "0.500,-42,20.0625,0\n0.600,8388607,,0.5\n1000.050,7,,3\n"


def write(path: Path, fails: bool = False) -> None:
    with RecordingWriter(str(path), {"scale": "0001"}) as out:
        for row in ROWS:
            out.add(*row)
        assert path.with_name(path.name + ".part").read_text() == HEADER + LINES  # on its way line by line
        assert not path.exists()
        if fails:
            raise KeyboardInterrupt


def test_a_recording_has_every_digit_and_its_name_once_it_is_whole(tmp_path: Path) -> None:
    write(tmp_path / "night.csv")
    assert (tmp_path / "night.csv").read_text() == HEADER + LINES
    assert [path.name for path in tmp_path.iterdir()] == ["night.csv"]


def test_an_interrupted_recording_keeps_what_there_is(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt):
        write(tmp_path / "night.csv", fails=True)
    assert (tmp_path / "night.csv").read_text() == HEADER + LINES


def test_a_recording_without_a_reading_leaves_nothing(tmp_path: Path) -> None:
    with RecordingWriter(str(tmp_path / "night.csv"), {}):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_recording_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "night.csv").write_text("precious")
    with pytest.raises(InputError, match=r"night\.csv: exists already"):
        RecordingWriter(str(tmp_path / "night.csv"), {})
    assert (tmp_path / "night.csv").read_text() == "precious"


def test_a_place_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    with pytest.raises(ScalewrightError, match="cannot be written: no such file or directory"):
        RecordingWriter(str(tmp_path / "nowhere" / "night.csv"), {})
