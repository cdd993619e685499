"""Large digits, pixel by pixel, with the frame buffer and the font of the real MicroPython."""

import pytest

from tests.on_micropython.runtimes import UnixPort


@pytest.fixture
def screens(unix_port: UnixPort) -> tuple[list[str], list[str], list[str]]:
    lines = unix_port.run("from tests.on_micropython.large_text import main; main()").splitlines()
    return lines[:32], lines[32:96], [line[:8] for line in lines[96:]]


@pytest.mark.parametrize(("which", "tall"), [(0, 2), (1, 6)])
def test_a_digit_is_the_one_of_the_font_enlarged(screens, which, tall) -> None:
    text, digit_at = (("-12.34", 128 - 15), ("1234567.8", 128 - 15 - 6 - 15 * 4))[which]
    rows = screens[which][8 : 8 + 8 * tall]
    seen = [row[digit_at : digit_at + 14] for row in rows]
    assert text[-1 if which == 0 else 3] == "4"
    assert seen == ["".join(2 * pixel for pixel in row[:7]) for row in screens[2] for _ in range(tall)]


@pytest.mark.parametrize("which", [0, 1])
def test_the_corner_to_draw_in_is_left_dark_and_all_fits(screens, which) -> None:
    assert set("".join(screens[which][:8])) == {"."}
    assert all(len(row) == 128 for row in screens[which])


def test_signs_and_unit_stand_below(screens) -> None:
    below = screens[0][24:]
    assert any("#" in row[:40] for row in below) and any("#" in row[120:] for row in below)
    below = screens[1][56:]
    assert not any("#" in row[:96] for row in below) and any("#" in row[96:] for row in below)
