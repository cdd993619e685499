"""Power cut to the byte, on real files."""

import pytest

from virtual_scale.storage import PowerFailure, Storage


@pytest.mark.parametrize("number_of_bytes", range(7))
def test_exactly_so_many_bytes_land_before_the_power_fails(tmp_path, number_of_bytes):
    storage = Storage()
    path = tmp_path / "slot"
    storage.cut_after(number_of_bytes)
    with pytest.raises(PowerFailure), storage.open(str(path), "wb") as file:
        file.write(b"abc")
        file.write(b"def")
        file.write(b"ghi")
    assert path.read_bytes() == b"abcdefghi"[:number_of_bytes]


def test_without_a_cut_files_are_files(tmp_path):
    storage = Storage()
    path = str(tmp_path / "slot")
    with storage.open(path, "wb") as file:
        assert file.write(b"abc") == 3
    with storage.open(path, "rb") as file:
        assert file.read(2) == b"ab"


def test_no_handler_of_ordinary_errors_keeps_a_device_without_power_going():
    assert not issubclass(PowerFailure, Exception)
