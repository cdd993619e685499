"""Replacing a file as a whole."""

import pytest

from scalewright.table_file import replace_file


def test_a_file_is_replaced_as_a_whole(tmp_path):
    file = tmp_path / "table.csv"
    file.write_text("old")
    replace_file(file, "new\n")
    assert file.read_bytes() == b"new\n"
    assert list(tmp_path.iterdir()) == [file]


def test_a_write_that_fails_half_way_leaves_the_old_file_and_nothing_else(tmp_path):
    file = tmp_path / "table.csv"
    file.write_text("old")
    with pytest.raises(UnicodeEncodeError):
        replace_file(file, "x" * 100_000 + "\ud800")  # a lone surrogate has no UTF-8, found after much was written
    assert file.read_text() == "old"
    assert list(tmp_path.iterdir()) == [file]
