"""A noisy serial line damages and loses as many bytes as it says, the same ones for the same seed."""

import pytest

from shared_calc.coefficient_record import CoefficientRecord, encode
from shared_calc.curve import quantise
from tests.firmware.parts import Console
from tests.virtual_scale.ports import ask, open_port, tell
from virtual_scale.random_numbers import RandomNumbers
from virtual_scale.wiring_faults import NoisyLine

TEXT = "0123456789" * 1000


def sent_through(seed, damaged_ppm, lost_ppm):
    """What arrives at the device and at the host of TEXT sent either way."""
    console = Console()
    line = NoisyLine(console, RandomNumbers(seed), damaged_ppm, lost_ppm)
    console.type(TEXT.encode())
    arrived = bytearray()
    while (byte := line.read_byte()) is not None:
        arrived.append(byte)
    line.write(TEXT + "\r\n")
    return arrived.decode(), "\r\n".join(console.lines())


def test_a_line_without_noise_changes_nothing():
    assert sent_through(1, 0, 0) == (TEXT, TEXT)


def test_bytes_are_lost_in_both_directions():
    for arrived in sent_through(1, 0, 10_000):
        assert 60 <= len(TEXT) - len(arrived) <= 140  # 100 expected, standard deviation 10


def test_bytes_are_damaged_in_one_bit():
    to_device, _ = sent_through(3, 10_000, 0)
    changed = [ord(a) ^ ord(b) for a, b in zip(TEXT, to_device, strict=True) if a != b]
    assert 60 <= len(changed) <= 140
    assert all(bits in (1, 2, 4, 8, 16, 32, 64) for bits in changed)


def test_the_same_seed_does_the_same_harm():
    assert sent_through(4, 5000, 5000) == sent_through(4, 5000, 5000) != sent_through(5, 5000, 5000)


COUNTS_PER_GRAM = round(2**24 * 128 * 2e-3 / 5000)  # 2 mV/V at 5000 g, gain 128, +-0.5 AVDD: computed
ZERO_COUNTS = round(2**24 * 128 * 0.02e-3)  # zero balance 0.02 mV/V


@pytest.mark.parametrize(
    ("fault", "names"),
    [
        ("NONE", "OK"),
        ("STUCk", "NO_DATA"),
        ("SATurated", "SATURATED"),
        ("SIGNal", "SATURATED"),
        ("OPEN", "OPEN_EXCITATION"),
        ("SWAPped", "SWAPPED_SIGNAL"),
        ("FLOating", "FLOATING_INPUT"),
        ("MAINs", "MAINS_PICKUP"),
    ],
)
def test_the_device_names_the_fault_in_its_wiring(fault, names):
    curve = quantise([-ZERO_COUNTS, 1], COUNTS_PER_GRAM, 0, 0)
    with open_port() as port:
        tell(port, f'CAL:DATA "{encode(CoefficientRecord(curve, 1, 0, 3000)).hex()}"')
        tell(port, "VIRTual:LOAD 500", f"VIRTual:FAULt {fault}")
        for _ in range(5 if fault == "STUCk" else 80):
            ask(port, "READ?")
        assert ask(port, "DIAGnostic?").split(",")[0] == names
