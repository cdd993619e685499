"""A noisy serial line damages and loses as many bytes as it says, the same ones for the same seed."""

from tests.firmware.parts import Console
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
