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
    tell(port, "VIRT:LOAD 3000,150,0")
    right = settled_counts(port)
    tell(port, "VIRT:LOAD 3000,-150,0")
    assert right - settled_counts(port) == pytest.approx(3000 * 300e-6 * COUNTS_PER_GRAM, abs=250)


def test_a_piece_that_is_wrong_is_wrong_in_every_sum(port):
    assert ask(port, "VIRT:MASS?") == "NONE"
    tell(port, "VIRTual:MASS 500,-0.8", "VIRT:MASS 200*,0.05", "VIRT:LOAD 500+200+200*,10,-20")
    assert ask(port, "VIRT:LOAD?") == "899.2500,10.0,-20.0"
    assert ask(port, "VIRTual:MASS?") == "200*:0.0500;500:-0.8000"
    tell(port, "VIRT:MASS 500,0", "VIRT:MASS 200*,0", "VIRT:LOAD 500+200*")
    assert ask(port, "VIRT:LOAD?") == "700.0000,0.0,0.0"


def test_the_pan_tells_its_size_and_a_load_stays_on_it(port):
    assert ask(port, "VIRTual:PAN?") == "150.0,150.0"
    tell(port, "VIRTual:CELL pan_half_depth_mm,100", "VIRT:LOAD 1,150,-100")
    assert ask(port, "VIRTual:PAN?") == "150.0,100.0"
    assert ask(port, "VIRT:LOAD 1,0,101").startswith('!-222,"Data out of range; -100 to 100 mm')


def test_a_tilt_stays_until_it_is_changed(port):
    """Cosine of arctan 0.05 on 3000 g and the 500 g of the pan: 4.37 g less."""
    tell(port, "VIRT:LOAD 3000", "VIRTual:CELL side_force_x,0", "VIRTual:CELL side_force_y,0")
    level = settled_counts(port)
    tell(port, "VIRTual:TILT 30,-40")
    assert ask(port, "VIRTual:TILT?") == "30.0,-40.0"
    lost_g = 3500 * (1 - math.cos(math.atan(0.05)))
    assert level - settled_counts(port) == pytest.approx(lost_g * COUNTS_PER_GRAM, abs=250)
    tell(port, "VIRTual:TILT 0,0")
    assert settled_counts(port) == pytest.approx(level, abs=250)


def test_an_overload_leaves_a_zero_that_is_off(port):
    empty = settled_counts(port)
    tell(port, "VIRT:LOAD 9500", "VIRT:LOAD 0")  # 2000 g above 150 % of 5 kg; 1 % of it stays
    assert settled_counts(port) - empty == pytest.approx(20 * COUNTS_PER_GRAM, abs=250)


def test_a_hand_that_is_not_steady_makes_the_platform_ring(port):
    tell(port, "VIRTual:CELL ring_share,0.05", "VIRTual:CELL ring_hz,3", "VIRT:LOAD 1000")
    ringing = read_counts(port, 40)[5:]  # half a second
    tell(port, "VIRTual:CELL ring_decay_s,0.01", "VIRT:LOAD 1000.001")
    assert max(ringing) - min(ringing) > 30 * COUNTS_PER_GRAM  # of 100 g at first
    still = read_counts(port, 10)[5:]
    assert max(still) - min(still) < COUNTS_PER_GRAM


@pytest.mark.parametrize(
    ("command", "moves_g"),
    [("VIRT:ROOM vibration_g,5", 5), ("VIRT:ROOM draught_g,3", 3), ("VIRT:ELEC flicker_uv,4", 4)],
)
def test_unrest_is_seen_and_can_be_ended(port, command, moves_g):
    """As far as it should be, within a factor of 2: how often it is at its widest is chance."""
    tell(port, command)
    widest = max(read_counts(port, 100)) - min(read_counts(port, 100))
    assert moves_g / 2 < widest / COUNTS_PER_GRAM < 8 * moves_g
    tell(port, command.partition(",")[0] + ",0")
    still = read_counts(port, 20)[5:]
    assert max(still) - min(still) < COUNTS_PER_GRAM


@pytest.mark.parametrize(
    ("part", "name", "default"),
    [("CELL", "rated_output_mv_per_v", "2"), ("ROOM", "time_constant_s", "600"), ("ELECtronics", "warm_up_s", "300")],
)
def test_a_parameter_can_be_asked_for_and_changed(port, part, name, default):
    assert ask(port, f"VIRTual:{part}? {name}") == default
    tell(port, f"VIRTual:{part} {name},1.25")
    assert ask(port, f"VIRTual:{part}? {name}") == "1.25"


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
        ("VIRT:LOAD 15001", -222),
        ("VIRT:LOAD nan", -222),
        ("VIRT:LOAD 1,151", -222),
        ("VIRT:LOAD 1,0,inf", -222),
        ("VIRT:LOAD 500+", -104),
        ("VIRT:LOAD ,1,2", -109),
        ("VIRT:LOAD 14999+2", -222),
        ("VIRT:LOAD? 1", -108),
        ("VIRT:MASS", -109),
        ("VIRT:MASS 500", -109),
        ("VIRT:MASS heavy,1", -104),
        ("VIRT:MASS 0,1", -104),
        ("VIRT:MASS 500,much", -104),
        ("VIRT:MASS 500,nan", -222),
        ("VIRT:TILT", -109),
        ("VIRT:TILT 1", -109),
        ("VIRT:TILT 1,201", -222),
        ("VIRT:TILT nan,0", -222),
        ("VIRT:TILT 1,2,3", -108),
        ("VIRT:CELL", -109),
        ("VIRT:CELL capacity_g", -109),
        ("VIRT:CELL colour,1", -224),
        ("VIRT:CELL creep,1", -224),
        ("VIRT:CELL capacity_g,0", -224),
        ("VIRT:CELL capacity_g,x", -104),
        ("VIRT:CELL?", -109),
        ("VIRT:CELL? place", -224),
        ("VIRT:ROOM time_constant_s,0", -224),
        ("VIRT:POW:CYCL", -109),
        ("VIRT:POW:CYCL -1", -222),
        ("VIRT:POW:CYCL 1e9", -222),
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
