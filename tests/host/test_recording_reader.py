"""A recording comes back from its file piece by piece, whatever the piece; what is wrong is named."""

from math import isnan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.errors import InputError
from scalewright.recording_reader import NO_COUNT, Piece, _piece, _plain_piece, read_pieces
from scalewright.recordings import RECORDING_COLUMNS
from scalewright.table_file import parse_rows

HEAD = '# scale = "invented"\ntime_s,counts,temperature_c,load_g\n'


def rows_of(pieces):
    """Return the rows of all pieces, with None for what is empty."""
    rows = [row for piece in pieces for row in zip(*piece, strict=True)]
    return [tuple(None if value == NO_COUNT or isnan(value) else value for value in row) for row in rows]


def write(folder, text, name="recording.csv"):
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def test_empty_cells_and_a_count_that_never_came(tmp_path) -> None:
    file = write(tmp_path, HEAD + "0.0125,-8388608,21.5,3000\n0.0250,,,\n\n0.0375,+8388607,-0.0625,.5\n")
    assert rows_of(read_pieces(file)) == [
        (0.0125, -8388608, 21.5, 3000.0),
        (0.025, None, None, None),
        (0.0375, 8388607, -0.0625, 0.5),
    ]


def test_columns_in_another_order_and_others_beside_them(tmp_path) -> None:
    file = write(tmp_path, b"\xef\xbb\xbfnote,load_g,counts,time_s,temperature_c\r\n\"a, b\",,5,1,\r\nx,,6,2,\r\n")
    assert rows_of(read_pieces(file)) == [(1, 5, None, None), (2, 6, None, None)]


@given(
    st.lists(st.tuples(st.none() | st.integers(-8388608, 8388607), st.none() | st.integers(-400, 850)), min_size=1),
    st.integers(1, 200),
    st.sampled_from(["\n", "\r\n"]),
)
def test_pieces_of_any_size_hold_the_same_rows(tmp_path_factory, rows, piece_bytes, end) -> None:
    cells = [
        (str(k / 80), "" if counts is None else str(counts), "" if tenths is None else str(tenths / 10), "12")
        for k, (counts, tenths) in enumerate(rows)
    ]
    text = HEAD.replace("\n", end) + "".join(",".join(row) + end for row in cells)
    file = write(tmp_path_factory.mktemp("pieces"), text)
    expected = [
        (k / 80, counts, None if tenths is None else tenths / 10, 12.0) for k, (counts, tenths) in enumerate(rows)
    ]
    assert rows_of(read_pieces(file, piece_bytes)) == expected


cells = st.one_of(
    st.sampled_from(["", "0", "-1", "+2.50", ".5", "7.", "1e3", "nan", "inf", "-", "1_0", " 4 ", '"5"', "9" * 20, "x"]),
    st.integers(-(1 << 25), 1 << 25).map(str),
    st.decimals(-1000, 1000, places=3).map(str),
    st.text("0123456789+-.eE_ ", max_size=6),
)


@given(st.lists(st.lists(cells, min_size=3, max_size=5).map(",".join), min_size=1, max_size=4).map("\n".join))
def test_the_quick_way_gives_what_the_careful_one_gives_or_leaves_it_to_that(text) -> None:
    quick = _plain_piece(text.encode(), RECORDING_COLUMNS)
    if quick is not None:
        assert rows_of([quick]) == rows_of([_piece(parse_rows(text.encode(), "f", RECORDING_COLUMNS, 1))])


def test_a_usual_piece_goes_the_quick_way() -> None:
    quick = _plain_piece(b"0.0125,3000000,21.5,12\n0.025,3000001,,12.000\n", RECORDING_COLUMNS)
    assert isinstance(quick, Piece) and list(quick.counts) == [3000000, 3000001]
    assert isnan(quick.temperature_c[1])


@pytest.mark.parametrize(
    ("body", "place", "reason"),
    [
        ("", "line 2", "no row below the header"),
        ("1,2,3\n", "line 3, column load_g", "3 cells found; expected 4"),
        ("1,2,3,4\n1,2,3,4,5\n", "line 4", "5 cells found; expected 4"),
        ("1,2.5,,\n", "line 3, column counts", "2.5 found; expected a whole number"),
        ("1,2,,\n\n2,8388608,,\n", "line 5, column counts", "8388608 found; expected a whole number from -8388608"),
        ("1,2,,\n2,-8388609,,\n", "line 4, column counts", "-8388609 found"),
        ("1,2147483648,,\n", "line 3, column counts", "2147483648 found"),
        ("1,-2147483648,,\n", "line 3, column counts", "-2147483648 found"),
        (",2,,\n", "line 3, column time_s", "'' found; expected a finite number"),
        ("nan,2,,\n", "line 3, column time_s", "'nan' found"),
        ("1,2,warm,\n", "line 3, column temperature_c", "'warm' found"),
        ("1,2,,inf\n", "line 3, column load_g", "'inf' found"),
        ("1,2,,\n" * 3 + "1,2\x00,,\n", "line 6", "byte 0x00 found"),
        ("1,2,,\n" + "1" * 9000 + ",2,,\n", "line 4", "characters; expected 2000 at most"),
    ],
)
def test_what_is_wrong_is_named_with_its_line_whatever_the_piece(tmp_path, body, place, reason) -> None:
    file = write(tmp_path, HEAD + body)
    for piece_bytes in (1, 20, 1 << 20):
        with pytest.raises(InputError) as error:
            list(read_pieces(file, piece_bytes))
        assert f"{file}, {place}: " in str(error.value)
        assert reason in str(error.value)


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"# a = 1\n", b"time_s,counts\n1,2\n", b"\x89PNG\r\n\x1a\n\0"])
def test_what_is_no_recording_is_refused(tmp_path, content) -> None:
    with pytest.raises(InputError, match=r"recording\.csv"):
        list(read_pieces(write(tmp_path, content)))


def test_a_file_that_is_not_there_is_refused(tmp_path) -> None:
    with pytest.raises(InputError, match="no such file"):
        list(read_pieces(tmp_path / "absent.csv"))
