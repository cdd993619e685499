"""A file is made whole or not at all."""

from pathlib import Path

import pytest

from scalewright.errors import InputError, RecordError
from scalewright.records.new_file import new_file


def names(folder: Path) -> list[str]:
    return [file.name for file in folder.iterdir()]


def test_a_file_appears_when_it_is_whole(tmp_path: Path) -> None:
    with new_file(tmp_path / "new") as part:
        part.write_text("half")
        assert "new" not in names(tmp_path)
    assert (names(tmp_path), (tmp_path / "new").read_text()) == (["new"], "half")


def test_after_an_error_nothing_is_left(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), new_file(tmp_path / "new") as part:
        part.write_text("half")
        raise ZeroDivisionError
    assert names(tmp_path) == []


def test_a_file_that_comes_up_meanwhile_stays(tmp_path: Path) -> None:
    complaint = r"new: is there already \(give another name\)"
    with pytest.raises(InputError, match=complaint), new_file(tmp_path / "new") as part:
        part.write_text("ours")
        (tmp_path / "new").write_text("theirs")
    assert (names(tmp_path), (tmp_path / "new").read_text()) == (["new"], "theirs")


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    complaint = r"nowhere.new: it cannot be written: No such file"
    with pytest.raises(RecordError, match=complaint), new_file(tmp_path / "nowhere" / "new") as part:
        part.write_text("half")
