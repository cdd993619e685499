"""What the README of the virtual scale promises: each parameter with its default, and faults beyond the limits of R 76.

Limits: OIML R 76-1:2006, table 6 (0.5 g, 1 g, 1.5 g up to 500 g, 2 kg, 3 kg at e = 1 g of class III), 3.6.1, 3.6.2,
3.9.2.3, 3.9.4, from memory but for table 6.
"""

import re
from pathlib import Path

import pytest

from tests.virtual_scale.ports import ask, open_port, read_counts, settled_counts, tell
from virtual_scale import protocol_virtual
from virtual_scale.electronics import Electronics
from virtual_scale.load_cell import LoadCell
from virtual_scale.operator_commands import OPERATOR_COMMANDS
from virtual_scale.room import Room
from virtual_scale.virtual_board import parse_options

README = (Path(protocol_virtual.__file__).parent / "README.md").read_text(encoding="utf-8")
FAULTS = dict(re.findall(r"^\| ([a-z ]+) \| `([a-z]+_[^`]*=[^`]*)`", README, re.MULTILINE))
COUNTS_PER_GRAM = 128 * 2e-3 * 2**24 / 5000  # gain 128, +-0.5 AVDD, 2 mV/V at 5000 g


@pytest.mark.parametrize(("prefix", "part"), [("cell_", LoadCell), ("room_", Room), ("electronics_", Electronics)])
def test_every_parameter_is_listed_with_its_default(prefix, part):
    rows = re.findall(rf"^\| `{prefix}(\w+)` \| (\S+) \|", README, re.MULTILINE)
    defaults = {name: value for name, value in vars(part).items() if isinstance(value, float)}
    assert {name: float(value) for name, value in rows} == defaults


def test_every_command_of_the_hands_is_listed():
    named = set(re.findall(r"VIRTual:[A-Za-z:]+\??", README))
    assert {header for header, _ in OPERATOR_COMMANDS} - {"VIRTual:ROOM?", "VIRTual:ELECtronics?"} <= named


def test_every_option_of_the_board_is_listed():
    with pytest.raises(ValueError, match="there are") as refused:
        parse_options([("colour", "red")])
    names = set(str(refused.value).partition("there are ")[2].split()) - {"folder"}  # that is made of `storage`
    assert names <= set(re.findall(r"`([a-z_]+)`", README))


def grams(port, pieces="0", x_mm=0, y_mm=0):
    """Put a load on and return what is felt of it, as grams at the default sensitivity."""
    tell(port, f"VIRT:LOAD {pieces},{x_mm},{y_mm}")
    return settled_counts(port) / COUNTS_PER_GRAM


def let_pass(port, seconds):
    port.timeout = seconds
    assert port.read(1) == b""
    port.timeout = 20


def eccentricity(port, x_mm, y_mm):
    return grams(port, "1000", x_mm, y_mm) - grams(port, "1000")


def creep(port):
    """In half an hour, without power, so that nothing is converted meanwhile; then what stays at no load."""
    empty_g = grams(port)
    start_g = grams(port, "3000")
    tell(port, "VIRT:POW:CYCL 1800")
    return grams(port, "3000") - start_g, grams(port) - empty_g


def loop(port):
    rising_g = grams(port, "1500")
    grams(port, "3000")
    return grams(port, "1500") - rising_g


def warmed(port, pieces, air_c):
    def net_g():
        return grams(port, pieces) - (grams(port) if pieces != "0" else 0)

    let_pass(port, 20)
    start_g = net_g()
    tell(port, f"VIRT:TEMP {air_c}")
    let_pass(port, 20)
    return net_g() - start_g


def warm_up(port):
    tell(port, "VIRT:ELEC warm_up_s,30")
    start_g = grams(port)
    let_pass(port, 180)
    return start_g - grams(port)


def spread(port):
    weighings = [read_counts(port, 20)[-1] for _ in range(10)]
    return (max(weighings) - min(weighings)) / COUNTS_PER_GRAM


def overloaded(port):
    start_g = grams(port)
    grams(port, "9000")
    return grams(port) - start_g


@pytest.mark.parametrize(
    ("fault", "measure", "expected_g", "limit_g"),
    [
        ("a side that is off", lambda port: eccentricity(port, 75, 0), 2.2, 1.0),
        ("one bad corner", lambda port: eccentricity(port, 75, 75), 2.5, 1.0),
        ("creep", lambda port: creep(port)[0], 2.9, 0.5),
        ("creep", lambda port: creep(port)[1], 2.9, 0.5),
        ("hysteresis", loop, 3.6, 1.0),
        ("a bad piece", lambda port: grams(port, "500+200") - grams(port, "200") - 500, -3, 1.0),
        ("warm span", lambda port: warmed(port, "3000", 40), 6.0, 1.5),
        ("warm zero", lambda port: warmed(port, "0", 25), 2.5, 1.0),
        ("cold electronics", warm_up, 4.0, 0.5),
        ("a restless place", spread, 6.2, 1.0),
    ],
)
def test_a_fault_goes_beyond_the_limit_that_a_scale_without_it_keeps(fault, measure, expected_g, limit_g):
    """Widest of ten normal values: 3.08 standard deviations in the mean (tables of the range, d2)."""
    options = dict(option.split("=") for option in FAULTS[fault].split("&"))
    with open_port(rate=10) as healthy, open_port(rate=10, **options) as faulty:
        assert abs(measure(healthy)) <= limit_g
        found_g = measure(faulty)
    assert abs(found_g) > limit_g
    assert found_g == pytest.approx(expected_g, abs=3 if fault == "a restless place" else 0.3)


def test_an_overload_is_found_at_the_zero():
    with open_port() as port:
        assert ask(port, "VIRT:CELL? overload_set") == "0.01"
        assert overloaded(port) == pytest.approx(15, abs=0.3)
