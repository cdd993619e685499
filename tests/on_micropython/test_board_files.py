"""Each board file makes each of its parts on MicroPython, on the pins that its page names, and reads with it."""

import re
from collections.abc import Iterator

import pytest

from tests.board_types import DEVICE, PORTS
from tests.on_micropython.runtimes import ROOT, UnixPort

PAGES = {"rp2": "rp2_hx711.md", "esp32": "esp32.md", "stm32": "stm32.md"}
ROLES = {
    "DATA": "miso",
    "CLOCK": "mosi",
    "FREE": "sck",
    "PDWN": "pdwn",
    "SDA": "sda",
    "SCL": "scl",
    "WIRE": "wire",
    "OPEN": "open",
}
CHOSEN_BY_MICROPYTHON = {("stm32", role) for role in ("miso", "mosi", "sck", "sda", "scl")}
COUNTS = {  # of 1 mV at gain 128: 5 V, but 3 V at the NAU7802
    "hx711": 0.001 * 128 / 5 * 2**24,
    "ads1232": 0.001 * 128 / 5 * (2**24 - 2),
    "nau7802": 0.001 * 128 / 3 * 2**24,
}


@pytest.fixture
def parts(unix_port: UnixPort) -> dict[tuple[str, str], tuple[dict[str, str], str]]:
    """Return (port, part) → pins by role, what was read."""
    lines = unix_port.run("from tests.on_micropython.board_files import main; main()").splitlines()
    fields = [line.split(";") for line in lines]
    return {
        (port, part): (dict(pin.split("=") for pin in re.findall(r"\S[^=]*=\S+", pins)), result)
        for port, part, pins, result in fields
    }


def pins_on_page(port: str) -> Iterator[tuple[str, str]]:
    page = (ROOT / "hardware" / PAGES[port]).read_text(encoding="utf-8")
    for signal, pin in re.findall(r"^\| ([A-Z]+) \| (?:GPIO|GP|P)([A-C]?\d+) \|", page, re.MULTILINE):
        yield ROLES[signal], pin


def test_every_part_is_on_the_pins_that_the_page_names(parts) -> None:
    for port in PORTS:
        used: dict[str, str] = {}
        for (of_port, _), (pins, _) in parts.items():
            used |= pins if of_port == port else {}
        on_page = dict(pins_on_page(port))
        expected = {role for role in ROLES.values() if (port, role) not in CHOSEN_BY_MICROPYTHON}
        assert {role: used[role] for role in expected} == {role: on_page[role] for role in expected}
    assert parts["rp2", "hx711_by_pio"][0] == {"in": "16", "side": "19", "pio": "0", "state machine": "0"}
    assert parts["stm32", "hx711"][0] == {"spi": "1"}


@pytest.mark.parametrize("port", PORTS)
def test_every_converter_is_read_and_sensor_asked(parts, port: str) -> None:
    for part, counts in COUNTS.items():
        assert int(parts[port, part][1]) == pytest.approx(counts, abs=200)  # noise
    assert parts[port, "ds18b20"][1] == "None"  # there is none
    assert int(parts[port, "processor_sensor"][1]) == pytest.approx(27 * 16, abs=6)
    folder = "/flash/" if port == "stm32" else "/"
    assert parts[port, "assemble"][1] == f"{port} 0AB1 {folder}"


def test_every_board_file_has_been_assembled(parts) -> None:
    names = {file.stem for file in (DEVICE / "boards").glob("*.py")} - {"__init__", "wiring"}
    assembled = {(f"{port}_{part.partition(' ')[2]}").strip("_") for port, part in parts if part.startswith("assemble")}
    assert assembled == names
    assert parts["rp2", "assemble hx711_pio"][1] == "Hx711Pio"
    assert parts["rp2", "assemble front_panel"][1] == "14 15 Max7219"  # as hardware/front_panel.md
    for port in PORTS:
        assert [parts[port, f"assemble {name}"][1] for name in ("ads1232", "nau7802")] == ["Ads1232", "Nau7802"]
