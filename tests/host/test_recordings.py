"""Observations files: every digit kept, every fault named with its place."""

import os
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scalewright.errors import InputError, ScalewrightError
from scalewright.quantities import DIRECTIONS, Observation
from scalewright.recordings import read_observations, write_observations

HEADER = "load_g,load_u_g,counts,counts_u,n,direction,temperature_c\n"
GOOD = '# degree = 2\n# note = "invented"\n' + HEADER + "0,,1000,,1,,\n100.0,0.001,201000.5,1.5,16,up,20.50\n"


def read(folder: Path, content: str | bytes):
    file = folder / "points.csv"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_observations(file)


def test_points_are_read_with_every_digit_as_written(tmp_path):
    observations = read(tmp_path, GOOD)
    zero, loaded = observations.points
    assert zero == Observation(Decimal(0), Decimal(1000))
    assert loaded == Observation(
        Decimal("100.0"), Decimal("201000.5"), Decimal("0.001"), Decimal("1.5"), 16, "up", Decimal("20.50")
    )
    assert (str(loaded.load_g), str(loaded.temperature_c)) == ("100.0", "20.50")
    assert observations.metadata == {"degree": 2, "note": "invented"}
    assert observations.lines == (4, 5)
    assert (observations.degree, observations.counts_unit, observations.load_unit) == (2, "count", "g")


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbf" + GOOD.encode(),
        GOOD.replace("\n", "\r\n").encode(),
        GOOD.replace("\n", "\n\n").encode(),
        GOOD.removesuffix("\n").encode(),
        GOOD.replace("load_g,load_u_g", '"load_g", load_u_g ').replace("100.0,", ' "100.0",'.strip()).encode(),
    ],
    ids=["byte order mark", "CRLF", "blank lines", "no last line end", "quotes and spaces"],
)
def test_harmless_differences_in_writing_change_nothing(content, tmp_path):
    assert read(tmp_path, content).points == read(tmp_path, GOOD).points


def test_columns_may_stand_in_any_order_and_further_ones_are_kept(tmp_path):
    text = 'counts,place,n,load_g,direction,load_u_g,counts_u,temperature_c,\n5,"left, front",1,7,,,,,\n'
    observations = read(tmp_path, text)
    assert observations.points == (Observation(Decimal(7), Decimal(5)),)
    assert observations.extra == {"place": ("left, front",), "": ("",)}


def test_another_unit_of_counts_lifts_the_limits_of_the_adc(tmp_path):
    text = '# counts_unit = "mV/V"\n' + HEADER + "1,,9000000,,1,,\n"
    assert read(tmp_path, text).points[0].counts == 9_000_000


def row(**cells: str) -> str:
    columns = HEADER.strip().split(",")
    values = {"load_g": "1", "counts": "2", "n": "1", **cells}
    return HEADER + ",".join(values.get(column, "") for column in columns) + "\n"


BAD_FILES = {
    "empty": ("", 1, "", "the file is empty; expected a header and rows"),
    "only blank lines": ("\n \n", 1, "", "the header is missing; expected load_g,"),
    "only metadata": ("# degree = 1\n", 1, "", "the header is missing"),
    "only a header": (HEADER, 1, "", "no row below the header"),
    "binary": (b"\x89PNG\r\n\x1a\n\0\0", 1, "", "byte 0x89 found; expected text in UTF-8"),
    "a zero byte": (HEADER + "1,,2\0,,1,,\n", 2, "", "byte 0x00 found; expected text in UTF-8"),
    "UTF-16": (GOOD.encode("utf-16"), 1, "", "expected text in UTF-8"),
    "Latin-1": (GOOD.replace("invented", "erf\xfcllt").encode("latin-1"), 2, "", "byte 0xFC found"),
    "Latin-1 after a byte order mark": (b"\xef\xbb\xbf\n\xb5", 2, "", "byte 0xB5 found"),
    "header lacks a column": (HEADER.replace("counts_u,", ""), 1, "counts_u", "missing from the header"),
    "no header": ("1,,2,,1,,\n", 1, "load_g", "missing from the header '1,,2,,1,,'"),
    "semicolons": (GOOD.replace(",", ";"), 3, "load_g", "missing from the header"),
    "a column twice": (HEADER.replace("counts_u", "counts_u,n"), 1, "n", "twice in the header"),
    "text for a number": (row(load_g="heavy"), 2, "load_g", "'heavy' found; expected a finite number such as 12.5"),
    "no number": (row(counts=""), 2, "counts", "'' found; expected a finite number"),
    "NaN": (row(counts="nan"), 2, "counts", "'nan' found; expected a finite number"),
    "signalling NaN": (row(temperature_c="sNaN1"), 2, "temperature_c", "expected a finite number"),
    "infinity": (row(counts_u="-Infinity"), 2, "counts_u", "'-Infinity' found; expected a finite number"),
    "digits of another script": (row(load_g="\u0661"), 2, "load_g", r"'\u0661' found"),
    "digits grouped": (row(load_g="1_000"), 2, "load_g", "'1_000' found"),
    "a boundless exponent": (row(load_g="1e999999999"), 2, "load_g", "expected a finite number"),
    "digits without end": (row(load_g="0." + "3" * 49), 2, "load_g", "'0.33"),
    "too large": (row(load_g="1e15"), 2, "load_g", "'1e15' found; expected 0 or a size from 1e-15 to 1e15"),
    "too small": (row(load_u_g="1e-16"), 2, "load_u_g", "expected 0 or a size"),
    "short row": (GOOD + "1,,2,,1\n", 6, "direction", "5 cells found; expected 7, as in the header"),
    "long row": (GOOD + "1,5,,2,,1,,\n", 6, "", "8 cells found; expected 7"),
    "comment below the header": (GOOD + "# half time\n", 6, "load_u_g", "1 cells found"),
    "quote not closed": (GOOD + '1,,"2,,1,,\n', 6, "", "expected cells separated by commas"),
    "lone carriage returns": (GOOD.replace("\n", "\r"), 1, "", "expected # key = value"),
    "negative uncertainty": (row(load_u_g="-0.1"), 2, "load_u_g", "-0.1 found; expected an uncertainty of 0 or more"),
    "no readings": (row(n="0"), 2, "n", "0 found; expected how many readings"),
    "half a reading": (row(n="1.5"), 2, "n", "1.5 found"),
    "unknown direction": (row(direction="UP"), 2, "direction", "'UP' found; expected up, down or nothing"),
    "above the ADC": (row(counts="8388607"), 2, "counts", "between -8388608 and 8388607, the ends of a 24-bit ADC"),
    "below the ADC": (row(counts="-8388608"), 2, "counts", "the ends of a 24-bit ADC"),
    "a line without end": (GOOD + "1" * 2001 + ",,2,,1,,\n", 6, "", "2009 characters; expected 2000 at most"),
    "metadata without a value": ("# degree\n" + HEADER, 1, "", "'# degree' found; expected # key = value"),
    "metadata without quotes": ("# note = hello\n" + HEADER, 1, "", 'with text in "quotes"'),
    "metadata that nests": ("# a = " + "[" * 1900 + "\n" + HEADER, 1, "", "expected # key = value"),
    "metadata that is no number": ("# a = nan\n" + HEADER, 1, "", "expected # key = value"),
    "metadata beyond decimals": ("# a = 1e9999999999999999999\n" + HEADER, 1, "", "expected # key = value"),
    "metadata twice": ("# a = 1\n# a = 1\n" + HEADER, 2, "", "a stands in line 1 already"),
    "no degree": ("# degree = 0\n" + row(), 1, "", "degree = 0 found; expected a whole number from 1"),
    "a degree that is text": ('# degree = "2"\n' + row(), 1, "", "degree = '2' found"),
    "a unit that is none": ('# counts_unit = " "\n' + row(), 1, "", "counts_unit = ' ' found"),
    "a unit with a line end": ('# load_unit = "g\\n"\n' + row(), 1, "", "load_unit = 'g\\n' found"),
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_a_bad_file_is_refused_with_file_line_and_column(name, tmp_path):
    content, line, column, message = BAD_FILES[name]
    with pytest.raises(InputError) as caught:
        read(tmp_path, content)
    error = caught.value
    assert (error.file, error.line, error.column) == (str(tmp_path / "points.csv"), line, column)
    assert message in str(error)
    assert "expected" in str(error) or "no row" in str(error)
    assert "\n" not in str(error)


def test_what_cannot_be_read_at_all_is_bad_input(tmp_path):
    for path in (tmp_path, tmp_path / "nowhere.csv", "nul\0.csv"):
        with pytest.raises(InputError, match="cannot be read"):
            read_observations(path)


def test_a_file_far_too_large_is_not_read_to_its_end(tmp_path):
    file = tmp_path / "large.csv"
    with file.open("wb") as stream:
        os.truncate(stream.fileno(), 1 << 40)  # sparse: takes no space, but would never fit into memory
    with pytest.raises(InputError, match="more than 16 MiB"):
        read_observations(file)


NUMBERS = st.decimals(-(10**6), 10**6, allow_nan=False, allow_infinity=False).filter(lambda d: len(str(d)) < 50)
UNCERTAINTIES = st.none() | st.decimals(0, 1000, places=6)
POINTS = st.builds(
    Observation, NUMBERS, NUMBERS, UNCERTAINTIES, UNCERTAINTIES, st.integers(1, 10**6), st.sampled_from(DIRECTIONS),
    st.none() | NUMBERS,
)  # fmt: skip
VALUES = st.text(max_size=50) | st.booleans() | st.integers(-(2**63), 2**63) | st.decimals(-1000, 1000, places=3)


@settings(max_examples=30, deadline=None)  # each one is written to the disk and synchronised
@given(
    points=st.lists(POINTS, min_size=1, max_size=4),
    metadata=st.dictionaries(st.from_regex(r"x_[a-z0-9_-]{1,8}", fullmatch=True), VALUES, max_size=3),
    extra=st.dictionaries(st.text(max_size=6), st.text(max_size=20), max_size=2),
)
def test_what_is_written_reads_back_exactly_or_is_refused(tmp_path_factory, points, metadata, extra):
    file = tmp_path_factory.getbasetemp() / "round_trip.csv"
    cells = {name: (text,) * len(points) for name, text in extra.items()}
    try:
        write_observations(file, points, metadata, cells)
    except InputError:
        assume(False)
    observations = read_observations(file)
    assert observations.points == tuple(points)
    assert [str(p.load_g) for p in observations.points] == [str(p.load_g) for p in points]
    assert (observations.metadata, observations.extra) == (metadata, cells)


@pytest.mark.parametrize(
    "point",
    [
        Observation(Decimal("nan"), Decimal(0)),
        Observation(Decimal(0), 0.1),
        Observation(Decimal(0), Decimal(0), direction="sideways"),
        Observation(Decimal(0), Decimal(2**23)),
    ],
    ids=["not a number", "a float", "unknown direction", "beyond the ADC"],
)
def test_what_could_not_be_read_back_is_never_written(point, tmp_path):
    file = tmp_path / "points.csv"
    file.write_text("what was there before")
    with pytest.raises(InputError):
        write_observations(file, [point])
    assert file.read_text() == "what was there before"
    assert list(tmp_path.iterdir()) == [file]


def test_a_disk_that_refuses_is_no_bad_input(tmp_path):
    with pytest.raises(ScalewrightError, match="cannot be written") as caught:
        write_observations(tmp_path / "nowhere" / "points.csv", [Observation(Decimal(0), Decimal(0))])
    assert not isinstance(caught.value, InputError)
