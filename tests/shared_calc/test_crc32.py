"""CRC-32/ISO-HDLC against the catalogue, by the language's own function and by the fallback of the smallest boards."""

import csv
import importlib.util
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shared_calc import crc32 as module

TABLE = Path(__file__).parents[1] / "reference_data" / "crc_check.csv"
INPUTS = {
    "check_123456789": b"123456789",
    "empty": b"",
    "byte_00": b"\x00",
    "byte_FF": b"\xff",
    "ascii_A": b"A",
    "bytes_00_to_FF": bytes(range(256)),
}
Crc = Callable[[bytes], int]


def fallback() -> Crc:
    """Return what shared_calc.crc32 defines where there is no binascii."""
    spec = importlib.util.spec_from_file_location("crc32_without_binascii", module.__file__)
    assert spec and spec.loader
    alone = importlib.util.module_from_spec(spec)
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, "binascii", None)
        spec.loader.exec_module(alone)
    return alone.crc32


@pytest.fixture(params=[lambda: module.crc32, fallback], ids=["binascii", "fallback"])
def crc32(request: pytest.FixtureRequest) -> Crc:
    return request.param()


def test_the_catalogue_values_come_back(crc32: Crc) -> None:
    with TABLE.open() as file:
        (row,) = csv.DictReader(line for line in file if not line.startswith("#"))
    for column, data in INPUTS.items():
        assert crc32(data) == int(row[column], 16), column


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=200))
def test_any_bytes_give_what_zlib_gives(crc32: Crc, data: bytes) -> None:
    assert crc32(data) == zlib.crc32(data)


def test_the_fallback_is_our_own_loop() -> None:
    assert fallback().__module__ == "crc32_without_binascii"
