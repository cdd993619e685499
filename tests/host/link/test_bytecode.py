"""Bytecode in the format that the board's MicroPython takes, and sources where there is none.

The first byte of an .mpy file is "M", the second its version; bits 0 and 1 of the third are its sub-version, which only
native code depends on (MicroPython reference, "MicroPython .mpy files", the header).
"""

from pathlib import Path

import pytest

from scalewright.link.bytecode import NEWEST_FORMAT, BoardFile, Image, compile_image, digest_of

ARMV6M = 4 << 10  # what a processor adds to sys.implementation._mpy


@pytest.fixture
def sources(tmp_path: Path) -> dict[str, Path]:
    for name in ("main.py", "mass.py"):
        (tmp_path / name).write_text(f"NAME = {name!r}\n")
    return {"main.py": tmp_path / "main.py", "shared_calc/mass.py": tmp_path / "mass.py"}


@pytest.mark.parametrize(("mpy", "name"), [(6 | 2 << 8, "mpy 6.2"), (NEWEST_FORMAT, "mpy 6.3"), (4870, "mpy 6.3")])
def test_bytecode_has_the_format_of_the_board(sources: dict[str, Path], mpy: int, name: str) -> None:
    """4870 is what a Raspberry Pi Pico with MicroPython 1.23 says: 6 | 3 << 8 | armv6m."""
    image = compile_image(sources, mpy)
    assert image.format == name
    assert [file.path for file in image.files] == ["main.mpy", "shared_calc/mass.mpy"]
    assert {file.content[:2] for file in image.files} == {b"M\x06"}
    assert image.notes == ()


def test_bytecode_names_its_source_as_the_board_knows_it_and_is_the_same_each_time(sources: dict[str, Path]) -> None:
    first, again = compile_image(sources, NEWEST_FORMAT), compile_image(sources, NEWEST_FORMAT)
    assert first == again
    assert b"shared_calc/mass.py" in first.files[1].content
    assert str(sources["main.py"].parent).encode() not in first.files[0].content


@pytest.mark.parametrize(
    ("mpy", "reason"),
    [
        (None, "this MicroPython was built without support for .mpy files"),
        (7, "the board takes .mpy files of format 7.0, mpy-cross has none"),
    ],
)
def test_sources_are_copied_with_the_reason_where_the_board_takes_no_such_bytecode(
    sources: dict[str, Path], mpy: int | None, reason: str
) -> None:
    image = compile_image(sources, mpy)
    assert image.format == "py"
    assert image.files == tuple(BoardFile(path, file.read_bytes()) for path, file in sources.items())
    assert image.notes == (f"copied as sources: {reason}",)


def test_a_file_that_does_not_compile_is_copied_as_it_is_and_named(sources: dict[str, Path]) -> None:
    sources["main.py"].write_text("def f(:\n")
    image = compile_image(sources, NEWEST_FORMAT)
    assert [file.path for file in image.files] == ["main.py", "shared_calc/mass.mpy"]
    assert image.notes == ("main.py is copied as source: mpy-cross says SyntaxError: invalid syntax",)


def test_the_digest_names_paths_and_contents() -> None:
    """Computed with `sha256sum a.py b/c.py | tr -s " " | sha256sum` (GNU coreutils)."""
    files = BoardFile("a.py", b"1\n"), BoardFile("b/c.py", b"")
    assert Image(files, "py", ()).digest == digest_of({file.path: file.sha256 for file in files}) == "08d7cbacd51a0b56"
