"""The coefficient record: what is stored comes back, what is damaged or unfit is refused."""

import struct
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_calc import link_frame
from shared_calc.coefficient_record import SIZE, CoefficientError, CoefficientRecord, decode, encode, identity
from shared_calc.curve import Curve
from shared_calc.temperature import Compensation
from tests.shared_calc.strategies import records

COMPENSATION = (20 * 16 + 5, -10, 40, 42_950, 491_000, -1_200, 1_374_000, 9_000)
GOOD = CoefficientRecord(
    Curve(2_845_000, 1, 18, (2016, -732_045, 438_876_792, 277_053_409)), 1, -1, 2000, Compensation(*COMPENSATION)
)


def fields(record: CoefficientRecord) -> tuple:
    curve = record.curve
    scale = (record.mantissa, record.power_of_ten, record.max_divisions)
    compensation = record.compensation and record.compensation.fields
    return (curve.centre, curve.shift, curve.binary_exponent, curve.coefficients, *scale, compensation)


def sealed(data: bytes) -> bytes:
    """Return the data with the CRC that belongs to it."""
    return data + struct.pack("<I", zlib.crc32(data))


@given(records())
def test_every_record_that_may_be_used_comes_back(record) -> None:
    data = encode(record)
    assert len(data) == SIZE
    assert fields(decode(data)) == fields(record)
    assert encode(decode(data)) == data
    assert identity(data) == f"{zlib.crc32(data[:-4]):08X}"


@given(records(), st.integers(0, SIZE - 1), st.integers(1, 255))
def test_any_changed_byte_is_noticed(record, place, change) -> None:
    data = bytearray(encode(record))
    data[place] ^= change
    with pytest.raises(CoefficientError, match="CRC does not match"):
        decode(bytes(data))


@given(records(), st.binary(max_size=2 * SIZE))
def test_any_other_length_is_refused(record, tail) -> None:
    data = encode(record)
    for wrong in (data[: len(tail) % SIZE], data + tail + b"\0"):
        with pytest.raises(CoefficientError, match=rf"of {len(wrong)} bytes, expected {SIZE}"):
            decode(wrong)


@given(st.binary(min_size=SIZE - 4, max_size=SIZE - 4), st.booleans())
def test_arbitrary_bytes_with_a_good_crc_are_a_fit_record_or_refused(data, with_mark) -> None:
    data = sealed(b"SW\x01" + data[3:] if with_mark else data)
    try:
        record = decode(data)
    except CoefficientError:
        return
    assert encode(record) == data


@pytest.mark.parametrize(
    ("offset", "replacement", "reason"),
    [
        (0, b"XX", "not a coefficient record of version 1"),
        (2, b"\x02", "not a coefficient record of version 1"),
        (3, b"\x00", "degree 1 to 3, not 0"),
        (3, b"\x04", "degree 1 to 3, not 4"),
        (3, b"\x02", "a curve of degree 2 has no further coefficients"),
        (4, b"\x18", "centre, shift or exponent out of range"),
        (5, b"\x1e", "centre, shift or exponent out of range"),
        (6, b"\x03", "the division must be 1, 2 or 5"),
        (7, b"\x0a", "power of ten"),
        (12, struct.pack("<I", 0), "Max must lie"),
        (12, struct.pack("<I", 1 << 12), "Max must lie"),
        (24, struct.pack("<i", 1 << 20), "flat or turns back"),
        (32, struct.pack("<h", -11 * 16), "the temperatures must lie around the reference"),
        (35, b"\x55", "at most 64 C from it"),
        (36, struct.pack("<i", (1 << 22) + 1), "too near an end of the ADC's range"),
        (40, struct.pack("<i", 1 << 29), "changes zero or span by too much"),
        (52, struct.pack("<i", -(1 << 28)), "changes zero or span by too much"),
    ],
)
def test_a_whole_record_that_cannot_be_used_is_refused_in_words(offset, replacement, reason) -> None:
    data = encode(GOOD)[:-4]
    changed = data[:offset] + replacement + data[offset + len(replacement) :]
    with pytest.raises(CoefficientError, match=reason):
        decode(sealed(changed))


def test_a_curve_worse_than_a_sixteenth_of_a_count_is_refused_when_it_is_saved() -> None:
    record = CoefficientRecord(Curve(0, 0, 18, (1 << 27, 0)), 1, 0, 500)
    assert record.curve.guaranteed_parts() == 10
    with pytest.raises(CoefficientError, match="sure only to 1/10 count, 1/16 is needed"):
        encode(record)


def test_the_layout_is_the_documented_one() -> None:
    expected = struct.pack("<2sBBBBBbiI", b"SW", 1, 3, 1, 18, 1, -1, 2_845_000, 2000)
    expected += struct.pack("<4i", 2016, -732_045, 438_876_792, 277_053_409)
    expected += struct.pack("<hbb5i", *COMPENSATION)
    assert encode(GOOD) == sealed(expected)


def test_a_record_without_compensation_holds_zeros_in_its_place() -> None:
    data = encode(CoefficientRecord(GOOD.curve, 1, -1, 2000))
    assert data[32:-4] == bytes(24)
    assert decode(data).compensation is None


def test_the_command_that_stores_a_record_fits_the_line_of_the_device() -> None:
    frame = link_frame.encode(link_frame.LAST_SEQUENCE, f'CALibration:DATA "{encode(GOOD).hex()}"')
    assert len(frame) <= 160  # firmware/scalewright_device/link.py
