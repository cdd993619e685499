"""The device's coefficients on MicroPython's own file systems, with a medium that fails wherever it can."""

import ast

import pytest

from tests.firmware.parts import SLOT_BYTES
from tests.on_micropython.runtimes import UnixPort

FILE_SYSTEMS = ("littlefs2", "littlefs2 by 256 bytes", "FAT")
TEARS = ("lost", "half", "whole")
SAVES = 48


def run(unix_port: UnixPort, call: str) -> object:
    """Return what a function of power_cut.py returns on MicroPython.

    A garbage collector that cannot close a file prints why, so the result has a mark.
    """
    printed = unix_port.run(f"from tests.on_micropython import power_cut\nprint('result', power_cut.{call})")
    (result,) = [line for line in printed.splitlines() if line.startswith("result ")]
    return ast.literal_eval(result.removeprefix("result "))


@pytest.mark.parametrize("tear", TEARS)
@pytest.mark.parametrize("file_system", FILE_SYSTEMS)
def test_a_power_cut_at_any_write_or_erase_leaves_the_old_record_or_the_new_one(
    unix_port: UnixPort, file_system: str, tear: str
) -> None:
    """Each of 48 successive saves; after every cut the device answers, and the next save holds."""
    found = run(unix_port, f"cut_at_every_operation({file_system!r}, {tear!r})")
    assert isinstance(found, dict)
    assert found["old"] + found["new"] == found["cut points"] >= SAVES
    # A cut that lost its write must have kept the old record, one after the last write must have brought the new one.
    assert found["new"] == 0 if tear == "lost" else found["old"] > 0
    assert tear != "whole" or found["new"] == SAVES


@pytest.mark.parametrize("file_system", FILE_SYSTEMS)
def test_a_save_that_failed_is_not_completed_later_over_a_newer_one(unix_port: UnixPort, file_system: str) -> None:
    """MicroPython's garbage collector closes, and so writes, a file that could not be closed before."""
    assert run(unix_port, f"fail_for_a_moment_at_every_operation({file_system!r})") in range(1, 20)


@pytest.mark.parametrize("file_system", ["littlefs2 by 256 bytes", "FAT"])
def test_a_full_file_system_refuses_the_save_and_keeps_the_old_record(unix_port: UnixPort, file_system: str) -> None:
    assert run(unix_port, f"fill_the_file_system({file_system!r})") == 4


@pytest.mark.parametrize("file_system", FILE_SYSTEMS)
def test_with_both_slots_corrupt_the_device_answers_and_takes_new_coefficients(
    unix_port: UnixPort, file_system: str
) -> None:
    assert run(unix_port, f"corrupt_both_slots({file_system!r})") is None


@pytest.mark.parametrize("file_system", FILE_SYSTEMS)
def test_any_changed_byte_in_a_slot_is_noticed(unix_port: UnixPort, file_system: str) -> None:
    assert run(unix_port, f"change_every_byte({file_system!r})") == 2 * SLOT_BYTES


def test_a_write_that_dies_after_any_byte_leaves_the_old_record_or_the_new_one(unix_port: UnixPort) -> None:
    assert run(unix_port, "cut_at_every_byte()") == SLOT_BYTES + 1
