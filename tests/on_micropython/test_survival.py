"""After every mishap the device answers and weighs as before: on MicroPython, with memory that really runs out."""

from tests.firmware.mishaps import MISHAPS
from tests.on_micropython.runtimes import UnixPort


def test_after_every_mishap_the_device_answers_and_weighs_as_before(unix_port: UnixPort) -> None:
    small = UnixPort([*unix_port.command, "-X", "heapsize=1m"])
    printed = small.run("from tests.firmware import mishaps\nprint('survived', mishaps.survive_each())", timeout_s=120)
    assert f"survived {len(MISHAPS)}" in printed
