"""The marker of a version, as the host writes it and as the board's own choose_version.py reads it."""

import os
import runpy
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scalewright.link.board_state import BoardState, Marker
from scalewright.link.bytecode import digest_of

CHOOSE_VERSION = Path(__file__).parents[3] / "firmware/choose_version.py"
MARKER = Marker(7, "0.1.0", "rp2", "08d7cbacd51a0b56")
words = st.text("abcdefghijklmnopqrstuvwxyz0123456789._-", min_size=1, max_size=20)
markers = st.builds(Marker, st.integers(1, 10**6), words, words, words)


@pytest.fixture
def sequence_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[bytes], int]:
    """Return the number that choose_version.py reads in a marker."""
    monkeypatch.chdir(tmp_path)  # where no version is
    names = runpy.run_path(str(CHOOSE_VERSION))

    def read(content: bytes) -> int:
        (tmp_path / "installed.txt").write_bytes(content)
        return int(names["sequence_in"](os.curdir))

    return read


@given(markers)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_host_and_board_read_what_was_written(sequence_in: Callable[[bytes], int], marker: Marker) -> None:
    assert Marker.decode(marker.encode()) == marker
    assert sequence_in(marker.encode()) == marker.sequence


def test_a_marker_that_is_cut_or_damaged_is_none_to_both(sequence_in: Callable[[bytes], int]) -> None:
    """Every length, and every bit of it turned over."""
    whole = MARKER.encode()
    text = whole.rstrip(b"\n")
    damaged = [whole[:k] for k in range(len(text))]
    damaged += [text[:k] + bytes([text[k] ^ 1 << bit]) + text[k + 1 :] for k in range(len(text)) for bit in range(8)]
    for content in damaged:
        same_number = content[-8:].upper() == text[-8:]  # the CRC in small letters is no damage
        assert sequence_in(content) == (MARKER.sequence if same_number and content[:-8] == text[:-8] else 0), content
        assert Marker.decode(content) == (MARKER if same_number and content[:-8] == text[:-8] else None), content


def state(**markers: Marker) -> BoardState:
    versions = {folder: {"main.mpy": (3, "aa"), "installed.txt": (9, "bb")} for folder in markers}
    contents = {folder: marker.encode() for folder, marker in markers.items()}
    return BoardState("micropython", (1, 23, 0), "m", "rp2", 4870, "/", 4096, 100, {}, versions, contents, b"")


def test_the_highest_number_is_in_use_and_the_other_folder_is_spare() -> None:
    assert (state().current(), state().spare(), state().next_sequence()) == (None, "version_a", 1)
    one = state(version_a=MARKER)
    assert (one.current(), one.spare(), one.next_sequence()) == ("version_a", "version_b", 8)
    both = state(version_a=MARKER, version_b=Marker(9, "0.2.0", "rp2", "x"))
    assert (both.current(), both.spare(), both.next_sequence()) == ("version_b", "version_a", 10)


def test_a_version_is_compared_without_its_marker() -> None:
    one = state(version_a=MARKER)
    assert one.holds("version_a", digest_of({"main.mpy": "aa"}))
    assert not one.holds("version_a", MARKER.digest)
