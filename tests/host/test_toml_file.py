"""A TOML file, right and wrong in every way that people and damage bring about."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scalewright.errors import InputError
from scalewright.toml_file import MAX_BYTES, parse_toml, read_toml

TEXT = """# a comment
title = "x"
on = true
[a]
n = 1.5
list = [
  1,
  2.5,
]
[b."odd name"]
n = 3
[[row]]
n = 1
[[row]]  # the second
n = 2
words = ["u", "v"]
series = [[1, 2], [3, 4]]
"""


def table(text=TEXT):
    return parse_toml(text.encode(), "file.toml")


def test_values_by_kind():
    root = table()
    first, second = root.array("row")
    assert (first.number("n"), second.number("n")) == (1, 2)
    assert (root.text("title"), root.flag("on", False), root.flag("off", False)) == ("x", True, False)
    assert (root.table("a").number("n"), root.table("a").numbers("list")) == (1.5, (1.0, 2.5))
    assert root.table("b").tables()["odd name"].whole_number("n", 1, 1) == 3
    assert second.texts("words") == ("u", "v")
    assert second.series("series") == ((1.0, 2.0), (3.0, 4.0))
    assert table("series = [1, 2]").series("series") == ((1.0, 2.0),)
    assert (root.number("none", default=2.0), root.numbers("none", default=()), root.text("none", "")) == (2.0, (), "")
    assert root.whole_number("none", 1, 7) == 7
    root.check_all_read()


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda root: root.number("title"), "file.toml, line 2, column title: 'x' found; expected a finite number"),
        (lambda root: root.number("on"), "file.toml, line 3, column on: True found; expected a finite number"),
        (lambda root: root.flag("title", True), "file.toml, line 2, column title: 'x' found; expected true or false"),
        (lambda root: root.text("on"), "file.toml, line 3, column on: True found; expected a text"),
        (lambda root: root.table("a").number("m"), "file.toml, line 4, column a.m: missing; expected a number"),
        (lambda root: root.table("a").number("n", 2), "line 5, column a.n: 1.5 found; expected a number from 2"),
        (lambda root: root.table("a").number("n", 1.5, above=True), "1.5 found; expected a number above 1.5"),
        (lambda root: root.table("a").whole_number("n", 1, 1), "line 5, column a.n: 1.5 found; expected a whole"),
        (lambda root: root.table("a").numbers("list", 2), "line 6, column a.list: 1 found; expected a number from 2"),
        (lambda root: root.table("a").texts("list"), "line 6, column a.list: 1 found; expected a text"),
        (lambda root: root.table("title"), "line 2, column title: 'x' found; expected a table [title]"),
        (lambda root: root.table("c"), "file.toml, column c: missing; expected a table [c]"),
        (lambda root: root.array("a"), "line 4, column a: {'n': 1.5, 'list': [1, 2.5]} found; expected tables [[a]]"),
        (lambda root: root.table("b").tables()["odd name"].text("n"), "line 11, column b.odd name.n: 3 found"),
        (lambda root: root.array("row")[1].text("n"), "file.toml, line 15, column row.n: 2 found; expected a text"),
        (lambda root: root.array("row")[0].text("m"), "file.toml, line 12, column row.m: missing; expected a text"),
        (lambda root: root.array("row")[1].text("m"), "file.toml, line 14, column row.m: missing; expected a text"),
        (lambda root: root.texts("on"), "expected a list of texts"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(ask, message):
    with pytest.raises(InputError) as caught:
        ask(table())
    assert message in str(caught.value)


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "1e16", "true", '"1"', "[1]", "2020-01-01", "10e400"])
def test_only_finite_numbers_of_a_sane_size_are_numbers(value):
    with pytest.raises(InputError, match=r"line 1, column n: .* found; expected a finite number"):
        table(f"n = {value}").number("n")


def test_a_misspelt_key_is_noticed():
    root = table("number = 1\nnumbr = 2\n[t]\nx = 1\n")
    root.number("number")
    assert "extra" not in root
    with pytest.raises(InputError, match="line 2, column numbr: not known here; expected one of extra, number"):
        root.check_all_read()
    root = table("[t]\nx = 1\ny = 1\n")
    root.table("t").number("x")
    with pytest.raises(InputError, match=r"line 3, column t\.y: not known here; expected one of x"):
        root.check_all_read()


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"a = ", "expected TOML 1.0"),
        (b"a = 1\na = 2", "expected TOML 1.0"),
        (b"\xef\xbb\xbfa = 1\n\xff", "line 2: byte 0xFF found; expected text in UTF-8"),
        (b"a = " + b"[" * 100_000, "expected TOML 1.0"),
        (b"a = " + b"9" * 5000, "expected TOML 1.0"),
        (b"#" * (MAX_BYTES + 1), "more than 1 MiB"),
    ],
)
def test_damaged_files_are_one_line(data, message):
    with pytest.raises(InputError) as caught:
        parse_toml(data, "file.toml")
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


def test_line_ends_and_a_byte_order_mark_do_not_matter():
    assert parse_toml(b"\xef\xbb\xbfa = 1\r\nb = 2\r\n", "file.toml").number("b") == 2


def test_a_file_that_cannot_be_read(tmp_path):
    for path in (tmp_path / "none.toml", tmp_path, "a\0b"):
        with pytest.raises(InputError, match="cannot be read"):
            read_toml(path)
    (tmp_path / "x.toml").write_text("a = 1", encoding="utf-8")
    assert read_toml(tmp_path / "x.toml").number("a") == 1


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reader(data):
    try:
        parse_toml(data, "file.toml").number("a")
    except InputError as error:
        assert "\n" not in str(error)
