"""What the operator's hands do, by command, on the unmodified device."""

import math

import pytest
import serial

from shared_calc.coefficient_record import SIZE
from tests.firmware.parts import EVENT_BYTES, record
from tests.virtual_scale.ports import ask, flags, open_port, read_counts, settled_counts, tell

COUNTS_PER_GRAM = 5000 / 5000 * 2**24 * 128 * 2e-3 / 5000  # 2 mV/V at 5000 g, gain 128, +-0.5 AVDD: computed
SLOT_BYTES = SIZE + 8  # a sequence number before the record, a CRC-32 after both


@pytest.fixture
def port():
    with open_port() as port:
        yield port


def test_a_load_is_put_on_and_felt(port):
    empty = settled_counts(port)
    tell(port, "VIRTual:LOAD 1000,12.5,-30")
    assert ask(port, "VIRT:LOAD?") == "1000.0000,12.5,-30.0"
    assert settled_counts(port) - empty == pytest.approx(1000 * COUNTS_PER_GRAM, rel=1e-3)
    tell(port, "virt:load 0")
    assert settled_counts(port) == pytest.approx(empty, abs=300)  # creep goes back slowly; noise


def test_the_place_of_a_load_matters(port):
    tell(port, "VIRT:LOAD 3000,200,0")
    right = settled_counts(port)
    tell(port, "VIRT:LOAD 3000,-200,0")
    assert right - settled_counts(port) == pytest.approx(3000 * 400e-6 * COUNTS_PER_GRAM, abs=250)


def test_a_warmer_room_moves_the_zero_slowly():
    """7e-6 of 5000 g per degree, and a time constant of 600 s: the defaults of load_cell.py and room.py."""
    with open_port(rate=10, timeout=300) as port:
        cold = settled_counts(port)
        tell(port, "VIRTual:TEMPerature 60")
        assert port.read(1) == b""  # 300 s without a word
        expected = 40 * 7e-6 * 5000 * COUNTS_PER_GRAM * (1 - math.exp(-300 / 600))
        assert settled_counts(port) - cold == pytest.approx(expected, abs=100)


@pytest.mark.parametrize(
    ("fault", "flag"), [("STUCk", "NO_DATA"), ("stuc", "NO_DATA"), ("SATurated", "SATURATED|UNCALIBRATED")]
)
def test_a_fault_is_flagged_until_it_is_taken_away(port, fault, flag):
    settled_counts(port)
    tell(port, f"VIRTual:FAULt {fault}")
    settled_counts(port)
    assert flags(port) == flag
    tell(port, "VIRTual:FAULt NONE")
    settled_counts(port)
    assert flags(port) == "UNCALIBRATED"


def test_an_open_excitation_wire_gives_no_signal(port):
    tell(port, "VIRTual:LOAD 2000", "VIRTual:FAULt OPEN")
    assert abs(settled_counts(port)) < 300


@pytest.mark.parametrize(
    ("command", "code"),
    [
        ("VIRT:LOAD", -109),
        ("VIRT:LOAD heavy", -104),
        ("VIRT:LOAD 1,2,3,4", -108),
        ("VIRT:LOAD 7501", -222),
        ("VIRT:LOAD nan", -222),
        ("VIRT:LOAD 1,501", -222),
        ("VIRT:LOAD 1,0,inf", -222),
        ("VIRT:TEMP 86", -222),
        ("VIRT:TEMP", -109),
        ("VIRT:POW:CUT -1", -222),
        ("VIRT:FAUL LOOSE", -224),
        ("VIRT:FAUL", -109),
        ("VIRT:SWIT", -109),
        ("VIRT:SWIT MAYBE", -224),
        ("VIRT:CLOC:SPE -1", -222),
        ("VIRT:CLOC:SPE nan", -222),
    ],
)
def test_bad_arguments_are_refused_and_change_nothing(port, command, code):
    tell(port, "VIRT:LOAD 100,1,2")
    assert ask(port, command).startswith(f"!{code},")
    assert ask(port, "VIRT:LOAD?") == "100.0000,1.0,2.0"
    assert flags(port) == "UNCALIBRATED"


@pytest.mark.parametrize("number_of_bytes", [0, 1, SLOT_BYTES - 1, SLOT_BYTES])
def test_a_power_cut_ends_the_device_after_exactly_so_many_bytes(tmp_path, number_of_bytes):
    with open_port(storage=tmp_path) as port:
        tell(port, f"VIRTual:POWer:CUT {EVENT_BYTES + number_of_bytes}")
        with pytest.raises(serial.SerialException, match="lost its power"):
            ask(port, f'CALibration:DATA "{record(1).hex()}"')
        with pytest.raises(serial.SerialException, match="lost its power"):
            port.write(b"*IDN?\n")
    assert sum(path.stat().st_size for path in tmp_path.iterdir()) == EVENT_BYTES + number_of_bytes
    with open_port(storage=tmp_path) as port:
        assert ("coefficients=none" in ask(port, "*IDN?")) == (number_of_bytes < SLOT_BYTES)


def test_a_hand_on_the_switch_opens_the_seal(port):
    tell(port, "CALibration:SEAL ON")
    assert ask(port, "CALibration:SEAL OFF").startswith("!-203,")
    tell(port, "VIRTual:SWITch ON", "CALibration:SEAL OFF", "VIRTual:SWITch OFF")
    assert ask(port, "CALibration:SEAL?") == "0"


def test_the_speed_of_time_can_be_changed(port):
    free = read_counts(port, 5)
    tell(port, "VIRTual:CLOCk:SPEed 10000")
    assert read_counts(port, 1)[0] == pytest.approx(free[-1], abs=400)
    tell(port, "VIRTual:CLOCk:SPEed 0")
    assert read_counts(port, 1)[0] == pytest.approx(free[-1], abs=400)
