"""The scale without a host: virtual fingers on virtual buttons, on CPython and on the real MicroPython."""

import pytest

from tests.virtual_scale.ports import ask, open_port, read_counts, tell


@pytest.fixture(params=["inprocess", "micropython"])
def port(request, tmp_path):
    if request.param == "micropython":
        request.getfixturevalue("unix_port")
    with open_port(runtime=request.param, storage=tmp_path / "flash", seed=3) as port:
        yield port


def press(port, *buttons, readings=8):
    """Hold buttons for so many readings, 12.5 ms each; then let go."""
    tell(port, *[f"VIRT:BUTT {button},ON" for button in buttons])
    read_counts(port, readings)
    tell(port, *[f"VIRT:BUTT {button},OFF" for button in buttons])
    read_counts(port, 8)


def place(port, grams):
    tell(port, f"VIRT:LOAD {grams}")
    read_counts(port, 60)


def shown(port):
    return ask(port, "VIRT:DISP?").replace('"', "").split(",")


def test_a_new_scale_is_adjusted_and_used_by_its_buttons(port):
    read_counts(port, 60)
    assert shown(port)[0] == "adjust"
    press(port, "ZERO", "TARE", readings=100)
    assert shown(port)[0] == "empty"
    press(port, "TARE")
    while shown(port)[0] != "2000":
        press(port, "ZERO")
    place(port, 2000)
    press(port, "TARE")
    assert shown(port)[0] == "done"
    read_counts(port, 150)
    assert shown(port)[:2] == ["2000", "g"]
    assert "events=1" in ask(port, "*IDN?")
    press(port, "TARE")
    assert shown(port) == ["0", "g", "NET"]
    place(port, 0)
    assert shown(port) == ["-2000", "g", "0 NET"]
    press(port, "TARE", readings=100)
    press(port, "ZERO")
    assert shown(port) == ["0", "g", "0"]
    press(port, "ZERO", readings=100)
    place(port, 1000)
    text, unit, _ = shown(port)
    assert unit == "gr" and int(text) % 50 == 0  # d = 2 g, 30.9 grains
    assert abs(int(text) - 1000 / 0.06479891) < 75  # exact by the pound of 1959; half a division, and half of d
